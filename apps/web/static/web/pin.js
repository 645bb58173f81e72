// A click on the map of a place puts its pin there and writes the coordinates into the form.
// Without this the fields are typed, or filled by looking an address up.
"use strict";
(() => {
  const board = document.querySelector("[data-pin-map]");
  const svg = board && board.querySelector("svg");
  const pin = svg && svg.querySelector(".c-pin");
  const latitude = document.getElementById("id_latitude");
  const longitude = document.getElementById("id_longitude");
  if (!pin || !latitude || !longitude) return;
  const { west, north, east, south, mark } = board.dataset;
  const told = board.querySelector("[role=status]");
  board.querySelector("[data-needs-script]").hidden = false;
  const shown = (degrees) => degrees.toFixed(6).replace(".", mark);

  svg.addEventListener("click", (event) => {
    const toPicture = svg.getScreenCTM();
    if (!toPicture) return;
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(toPicture.inverse());
    pin.setAttribute("transform", `translate(${at.x} ${at.y})`);
    latitude.value = shown(Number(north) - at.y * Number(south));
    longitude.value = shown(Number(west) + at.x * Number(east));
    told.textContent = `${latitude.value}; ${longitude.value}`;
  });
})();
