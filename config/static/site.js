// Small comforts; every page works without them.
"use strict";

function cookie(name) {
  const found = document.cookie.split("; ").find((part) => part.startsWith(name + "="));
  return found ? decodeURIComponent(found.slice(name.length + 1)) : "";
}

// Fragments are posted with the same proof as a form.
document.addEventListener("htmx:configRequest", (event) => {
  const field = document.querySelector("[name=csrfmiddlewaretoken]");
  event.detail.headers["X-CSRFToken"] = field ? field.value : cookie("csrftoken");
});

// A refusal comes as a fragment with status 403 or 422; show it where the answer would stand.
document.addEventListener("htmx:beforeSwap", (event) => {
  if ([403, 422].includes(event.detail.xhr.status)) {
    event.detail.shouldSwap = true;
    event.detail.isError = false;
  }
});

// One tap posts once: a form that is on its way takes no second one.
document.addEventListener("submit", (event) => {
  const form = event.target;
  if (form.method !== "post") return;
  if (form.getAttribute("aria-busy") === "true") event.preventDefault();
  form.setAttribute("aria-busy", "true");
});

// Coming back to a page from the browser's memory: its forms are free again.
window.addEventListener("pageshow", () => {
  document.querySelectorAll("form[aria-busy]").forEach((form) => form.removeAttribute("aria-busy"));
});
document.addEventListener("htmx:afterRequest", (event) => {
  const form = event.target.closest("form");
  if (form) form.removeAttribute("aria-busy");
});

// Paper has no folds: open every one before printing, and close it again.
window.addEventListener("beforeprint", () => {
  document.querySelectorAll("details:not([open])").forEach((fold) => {
    fold.dataset.folded = "";
    fold.open = true;
  });
});
window.addEventListener("afterprint", () => {
  document.querySelectorAll("details[data-folded]").forEach((fold) => {
    delete fold.dataset.folded;
    fold.open = false;
  });
});

// A visit of the calendar is dragged to another day; the form of the page posts it there.
document.addEventListener("dragstart", (event) => {
  const card = event.target.closest && event.target.closest("[data-move]");
  if (!card) return;
  event.dataTransfer.effectAllowed = "move";
  event.dataTransfer.setData("text/plain", card.dataset.move);
  card.classList.add("held");
});
document.addEventListener("dragend", () => {
  document.querySelectorAll(".held, .over").forEach((one) => one.classList.remove("held", "over"));
});
document.addEventListener("dragover", (event) => {
  const cell = event.target.closest && event.target.closest("[data-drop-day]");
  if (!cell || !document.querySelector(".held")) return;
  event.preventDefault();
  document.querySelectorAll(".over").forEach((one) => one.classList.remove("over"));
  cell.classList.add("over");
});
document.addEventListener("drop", (event) => {
  const cell = event.target.closest && event.target.closest("[data-drop-day]");
  const card = document.querySelector(".held");
  const form = document.querySelector("[data-move-by-drag]");
  if (!cell || !card || !form) return;
  event.preventDefault();
  form.action = card.dataset.move;
  form.elements.technician.value = cell.dataset.dropTechnician;
  form.elements.day.value = cell.dataset.dropDay;
  form.elements.window_opens.value = card.dataset.opens;
  form.elements.window_closes.value = card.dataset.closes;
  form.requestSubmit();
});
