// The page's sentences in the visitor's language, as the server put them into the page.
const held = document.querySelector("#words");
const words = held ? JSON.parse(held.textContent) : {};
export const word = (key) => words[key] || key;
export const percent = (share) => `${Math.round(share * 100)} %`;
