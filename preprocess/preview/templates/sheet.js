"use strict";
// Boxes beside the key show and hide the layers of the picture; without this script all are shown.
for (const box of document.querySelectorAll("input[data-layer]")) {
  const layer = document.getElementById(box.dataset.layer);
  box.hidden = layer === null;
  box.addEventListener("change", () => {
    layer.style.display = box.checked ? "" : "none";
    box.closest("li").classList.toggle("off", !box.checked);
  });
}
