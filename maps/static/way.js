/* The map of one year at a time; without scripts all stand below one another. */
const slide = document.querySelector(".slide");
const bar = slide.querySelector("input");
const shown = slide.querySelector("output");
const maps = Array.from(document.querySelectorAll(".map"));

function turn() {
  maps.forEach((map, place) => { map.hidden = place !== Number(bar.value); });
  const year = maps[Number(bar.value)].dataset.year;
  shown.textContent = year;
  bar.setAttribute("aria-valuetext", year);
}

bar.max = String(maps.length - 1);
bar.value = bar.max;
bar.addEventListener("input", turn);
slide.hidden = false;
turn();
