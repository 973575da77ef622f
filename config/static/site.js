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
