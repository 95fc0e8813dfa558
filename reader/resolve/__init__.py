"""From markings to the answer: how much each speaks for each size, and how sure that is."""
