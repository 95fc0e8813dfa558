// Drawing a box around the marking: a mode of its own, so that scrolling and zooming stay what they are.
export function setUpBoxes() {
  document.querySelectorAll("[data-box]").forEach(setUpBox);
}

function setUpBox(form) {
  const frame = form.querySelector(".frame");
  const rect = frame.querySelector(".box");
  const view = frame.querySelector("svg").viewBox.baseVal;
  const fields = ["left", "top", "width", "height"].map((name) => form.elements[name]);
  const mode = form.querySelector("[data-mode]");
  const read = form.querySelector("[data-read-box]");
  read.hidden = true;
  let from = null, held = null;

  const at = (event) => {
    const area = frame.getBoundingClientRect();
    const clamp = (value) => Math.min(1, Math.max(0, value));
    return [clamp((event.clientX - area.left) / area.width), clamp((event.clientY - area.top) / area.height)];
  };
  const values = () => fields.map((field) => Number(field.value) / 100 || 0);
  const handles = [...frame.querySelectorAll(".handle")];
  const draw = () => {
    const [left, top, width, height] = values();
    for (const [name, value] of [["x", left * view.width], ["y", top * view.height], ["width", width * view.width], ["height", height * view.height]]) rect.setAttribute(name, value);
    handles.forEach((handle, index) => {
      handle.setAttribute("cx", (left + (index % 2) * width) * view.width);
      handle.setAttribute("cy", (top + (index > 1) * height) * view.height);
      handle.setAttribute("visibility", width && height ? "visible" : "hidden");
    });
  };
  const put = (a, b) => {
    const box = [Math.min(a[0], b[0]), Math.min(a[1], b[1]), Math.abs(a[0] - b[0]), Math.abs(a[1] - b[1])];
    fields.forEach((field, index) => { field.value = (box[index] * 100).toFixed(1); });
    draw();
  };
  mode.addEventListener("click", () => {
    const on = form.classList.toggle("boxing");
    mode.setAttribute("aria-pressed", on);
    if (on && !values()[2]) put([0.2, 0.35], [0.8, 0.65]);
    read.hidden = !on;
  });
  frame.addEventListener("pointerdown", (event) => {
    if (!form.classList.contains("boxing")) return;
    const point = at(event), [left, top, width, height] = values();
    const corners = [[left, top], [left + width, top], [left, top + height], [left + width, top + height]];
    const reach = 0.09;
    held = corners.findIndex((corner) => Math.hypot(corner[0] - point[0], corner[1] - point[1]) < reach);
    from = held >= 0 && width ? corners[3 - held] : point;
    frame.setPointerCapture(event.pointerId);
    event.preventDefault();
  });
  frame.addEventListener("pointermove", (event) => { if (from) put(from, at(event)); });
  for (const end of ["pointerup", "pointercancel"]) frame.addEventListener(end, () => { from = null; });
  for (const field of fields) field.addEventListener("input", draw);
}
