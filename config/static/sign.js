// Draws a signature into a field; without script the typed name stands in its place.
"use strict";

document.querySelectorAll("[data-sign]").forEach((pad) => {
  const field = document.getElementById(pad.dataset.sign);
  const line = pad.querySelector("path");
  const form = field.form;
  let isDown = false;

  const point = (event) => {
    const box = pad.getBoundingClientRect();
    const within = (share, most) => Math.round(Math.min(Math.max(share, 0), 1) * most);
    const x = within((event.clientX - box.left) / box.width, 600);
    const y = within((event.clientY - box.top) / box.height, 200);
    return `${x} ${y}`;
  };
  const show = (path) => {
    field.value = path;
    line.setAttribute("d", path);
  };
  pad.addEventListener("pointerdown", (event) => {
    isDown = true;
    pad.setPointerCapture(event.pointerId);
    const drawn = form.querySelector("[name=how][value=drawn]");
    if (drawn) drawn.checked = true;
    show(field.value + "M" + point(event));
    event.preventDefault();
  });
  pad.addEventListener("pointermove", (event) => {
    if (isDown && field.value.length < 19000) show(field.value + "L" + point(event));
  });
  ["pointerup", "pointercancel"].forEach((name) => {
    pad.addEventListener(name, () => { isDown = false; });
  });
  form.querySelector("[data-sign-clear]").addEventListener("click", () => show(""));
  show(field.value);
  form.querySelector("[data-sign-box]").hidden = false;
});
