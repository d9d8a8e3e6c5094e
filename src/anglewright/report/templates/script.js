"use strict";
(function () {
  /* Shows one prepared frame of an axis: texts into the rooms, phases into the drawings. */
  function move(part, phases) {
    var d = part.dataset, phase = phases[d.of];
    if (d.turn !== undefined) {
      part.setAttribute("transform", "rotate(" + d.turn * phase + " " + d.x + " " + d.y + ")");
    } else if (d.fill !== undefined) {
      part.setAttribute("stroke-dasharray", phase + " 2");
    } else if (d.run !== undefined) {
      part.setAttribute("stroke-dashoffset", -d.run * phase);
    } else {
      if (d.every !== undefined) { phase -= d.every * Math.floor(phase / d.every); }
      part.setAttribute("transform", "translate(" + d.dx * phase + " " + d.dy * phase + ")");
    }
  }
  function prepare(chain) {
    var motion = JSON.parse(chain.querySelector("script").textContent);
    var slider = chain.querySelector("input");
    var now = chain.querySelector("output");
    var rooms = Array.from(chain.querySelectorAll(".room"), function (room) {
      return {
        value: room.querySelector(".value"),
        parts: room.querySelectorAll("[data-of]")
      };
    });
    function show() {
      var frame = Number(slider.value);
      now.textContent = motion.texts[frame];
      slider.setAttribute("aria-valuetext", motion.texts[frame]);
      slider.style.setProperty("--at", 100 * frame / Math.max(1, Number(slider.max)) + "%");
      rooms.forEach(function (room, rank) {
        room.value.textContent = motion.values[frame][rank];
        room.parts.forEach(function (part) { move(part, motion.phases[frame][rank]); });
      });
    }
    slider.addEventListener("input", show);
    show();
  }
  document.querySelectorAll(".chain").forEach(prepare);

  /* On paper the section of steps is open, the small "how" under each row stays as the reader left it. */
  var opened = [];
  window.addEventListener("beforeprint", function () {
    opened = Array.from(document.querySelectorAll("details.on-paper:not([open])"));
    opened.forEach(function (each) { each.open = true; });
  });
  window.addEventListener("afterprint", function () {
    opened.forEach(function (each) { each.open = false; });
    opened = [];
  });
}());
