// Dragging the walls of a sheet: what is dragged is written into the numbers of the form, and
// nothing else. The form alone does everything; nothing is kept until it is saved.
"use strict";

const MM = { ft: 304.8, m: 1000 };
const STEP = { ft: 0.5, m: 0.1 }; // of what is dragged
const SHORTEST = 0.5; // a wall keeps this much, in the unit of the sheet
const MOST_WIDE = 640, HIGH = 360, MARGIN = 32;

function made(name, facts, words) {
  const one = document.createElementNS("http://www.w3.org/2000/svg", name);
  Object.entries(facts).forEach(([key, value]) => one.setAttribute(key, value));
  if (words !== undefined) one.textContent = words;
  return one;
}

// where each wall begins, and where the last one ends; x east, y north, in mm
function pointsOf(walls) {
  const points = [[0, 0]];
  walls.forEach((wall) => {
    const angle = (wall.heading / 10) * (Math.PI / 180);
    const [x, y] = points[points.length - 1];
    points.push([x + wall.length * Math.sin(angle), y + wall.length * Math.cos(angle)]);
  });
  return points;
}

function cell(column, wall) {
  return document.getElementById(`id_${column}_${wall.row}`);
}

function begin(figure) {
  const form = document.querySelector("form.walls");
  const typed = document.getElementById("look-typed");
  const unit = figure.dataset.unit;
  const closes = figure.dataset.closes === "1";
  const walls = figure.dataset.walls.split(";").map((text) => {
    const [row, length, heading] = text.split(",").map(Number);
    return { row, length, heading };
  });
  const count = walls.length;
  const svg = made("svg", { class: "dr plan drag-plan", "aria-hidden": "true", focusable: "false" });
  figure.prepend(svg);
  // drawn as wide as the page has room, so that words keep their size on a phone
  const wideAt = Math.min(MOST_WIDE, figure.parentElement.clientWidth || MOST_WIDE);
  let scale = 1, left = 0, top = 0;

  const px = ([x, y]) => [(x - left) * scale + MARGIN, (top - y) * scale + MARGIN];
  const snapped = (mm) => Math.round(mm / (STEP[unit] * MM[unit])) * STEP[unit] * MM[unit];
  const at = (index) => (closes ? (index + count) % count : index);

  function fit() {
    const points = pointsOf(walls);
    const xs = points.map((one) => one[0]), ys = points.map((one) => one[1]);
    left = Math.min(...xs);
    top = Math.max(...ys);
    const wide = Math.max(...xs) - left || 1, high = top - Math.min(...ys) || 1;
    scale = Math.min((wideAt - 2 * MARGIN) / wide, (HIGH - 2 * MARGIN) / high);
    const size = [wide * scale + 2 * MARGIN, high * scale + 2 * MARGIN].map(Math.ceil);
    svg.setAttribute("viewBox", `0 0 ${size[0]} ${size[1]}`);
    svg.setAttribute("width", size[0]);
    svg.setAttribute("height", size[1]);
  }

  // a length of two decimals and a heading of one, as a person would type them
  function write(wall, length, heading) {
    const shown = Math.round((length / MM[unit]) * 100) / 100;
    wall.length = shown * MM[unit];
    cell("length", wall).value = String(shown);
    if (heading === undefined) return;
    wall.heading = ((Math.round(heading * 10) % 3600) + 3600) % 3600;
    cell("heading", wall).value = String(wall.heading / 10);
  }

  // a turn counts from the wall before: once that one is turned, it is said in degrees
  function keepHeading(wall) {
    const field = cell("heading", wall);
    if (/^\s*(left|right)/i.test(field.value)) field.value = String(wall.heading / 10);
  }

  function between(from, to) {
    const [east, north] = [to[0] - from[0], to[1] - from[1]];
    return [Math.hypot(east, north), (Math.atan2(east, north) * 180) / Math.PI];
  }

  function moveCorner(points, corner, by) {
    const spot = [points[corner][0] + snapped(by[0]), points[corner][1] + snapped(by[1])];
    const before = closes || corner > 0 ? at(corner - 1) : null;
    const after = closes || corner < count ? at(corner) : null;
    const changes = [];
    if (before !== null) changes.push([before, between(points[before], spot)]);
    if (after !== null) changes.push([after, between(spot, points[closes ? at(corner + 1) : corner + 1])]);
    if (changes.some(([, [length]]) => length < SHORTEST * MM[unit])) return;
    changes.forEach(([index, [length, heading]]) => write(walls[index], length, heading));
    const next = (after === null ? before : after) + 1;
    if (next < count) keepHeading(walls[next]);
  }

  // a wall keeps its heading and its neighbors theirs: only lengths change
  function moveWall(points, index, by) {
    const unitOf = (wall) => {
      const angle = (wall.heading / 10) * (Math.PI / 180);
      return [Math.sin(angle), Math.cos(angle)];
    };
    const dot = (one, other) => one[0] * other[0] + one[1] * other[1];
    const along = unitOf(walls[index]), normal = [along[1], -along[0]];
    const before = walls[at(index - 1)], after = walls[at(index + 1)];
    const aside = snapped(dot(normal, by));
    const lean = [dot(normal, unitOf(before)), dot(normal, unitOf(after))];
    if (lean.some((one) => Math.abs(one) < 0.17)) return; // they run on nearly straight
    const lengths = [before.length + aside / lean[0], after.length - aside / lean[1]];
    const sides = lean.map((one) => aside / one);
    const start = [points[index][0] + sides[0] * unitOf(before)[0], points[index][1] + sides[0] * unitOf(before)[1]];
    const second = points[index + 1];
    const end = [second[0] + sides[1] * unitOf(after)[0], second[1] + sides[1] * unitOf(after)[1]];
    const width = dot(along, [end[0] - start[0], end[1] - start[1]]);
    if ([...lengths, width].some((one) => one < SHORTEST * MM[unit])) return;
    write(before, lengths[0]);
    write(walls[index], width);
    write(after, lengths[1]);
  }

  function grab(target, move) {
    target.addEventListener("pointerdown", (event) => {
      event.preventDefault();
      const points = pointsOf(walls), held = walls.map((wall) => ({ ...wall }));
      const from = [event.clientX, event.clientY];
      const ratio = svg.viewBox.baseVal.width / svg.getBoundingClientRect().width;
      const dragged = (now) => {
        walls.forEach((wall, index) => Object.assign(wall, held[index]));
        const by = [(now.clientX - from[0]) * ratio / scale, (from[1] - now.clientY) * ratio / scale];
        move(points, by);
        draw();
      };
      const dropped = () => {
        window.removeEventListener("pointermove", dragged);
        window.removeEventListener("pointerup", dropped);
        window.removeEventListener("pointercancel", dropped);
        fit();
        draw();
      };
      window.addEventListener("pointermove", dragged);
      window.addEventListener("pointerup", dropped);
      window.addEventListener("pointercancel", dropped);
    });
    svg.append(target);
  }

  function draw() {
    const points = pointsOf(walls), spots = points.map(px);
    svg.replaceChildren();
    svg.append(made("path", { class: "l-wall", d: `M${spots.map((one) => one.join(" ")).join("L")}` }));
    walls.forEach((wall, index) => {
      const [one, other] = [spots[index], spots[index + 1]];
      const middle = [(one[0] + other[0]) / 2, (one[1] + other[1]) / 2];
      const words = `${Math.round((wall.length / MM[unit]) * 100) / 100} ${unit}`;
      svg.append(made("text", { class: "t halo s", x: middle[0], y: middle[1] + 16, "text-anchor": "middle" }, words));
      if (closes || (index > 0 && index < count - 1)) {
        const way = `M${one.join(" ")}L${other.join(" ")}`;
        grab(made("path", { class: "grab", d: way, "data-wall": index }), (from, by) => moveWall(from, index, by));
      }
    });
    spots.slice(0, closes ? count : count + 1).forEach(([x, y], corner) => {
      grab(made("circle", { class: "grip", cx: x, cy: y, r: 12, "data-corner": corner }), (from, by) => moveCorner(from, corner, by));
    });
  }

  // numbers typed by hand are drawn by the server; what is dragged would be of older ones
  form.addEventListener("input", () => {
    figure.hidden = true;
    if (typed) typed.hidden = false;
  });
  if (typed) typed.hidden = true;
  figure.hidden = false;
  fit();
  draw();
}

document.querySelectorAll("figure[data-walls]").forEach(begin);
