// A line to turn about: drawn in SVG from the shapes and words that the page carries as JSON.
// Without this module the page shows the drawing on paper instead; print always does.

const NS = "http://www.w3.org/2000/svg";
const ISOMETRIC = { turn: 45, tilt: 35.264 };
const VIEWS = {
  isometric: ISOMETRIC,
  above: { turn: 0, tilt: 90 },
  south: { turn: 0, tilt: 0 },
  east: { turn: 90, tilt: 0 },
};
const STEPS = [0, 1, 2, 5, 10, 20, 50, 100, 200, 500, 1000, 2000, 5000, 10000];
const LARGEST = 42; // px that the largest movement is drawn with at first
const LETTER = 13;
const CELL = 5; // px of the grid that keeps labels apart
const REACH = 22; // px within which a click finds a place

const make = (name, attributes = {}, parent = null) => {
  const node = document.createElementNS(NS, name);
  for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, value);
  if (parent) parent.append(node);
  return node;
};
const clamp = (value, low, high) => Math.min(high, Math.max(low, value));
const path = (points) => points.map((p, k) => `${k ? "L" : "M"}${p.x.toFixed(1)},${p.y.toFixed(1)}`).join("");

class Line {
  constructor(box) {
    this.box = box;
    this.scene = JSON.parse(box.querySelector("[data-scene]").textContent);
    this.live = box.querySelector("[data-live]");
    this.svg = box.querySelector("[data-stage]");
    this.note = box.querySelector("[data-note]");
    this.state = Math.max(0, this.scene.states.findIndex((one) => one.name === box.dataset.state));
    this.view = { ...ISOMETRIC, zoom: 1, x: 0, y: 0 };
    this.chosen = null;
    this.pointers = new Map();
    this.build();
    this.controls();
    this.events();
    this.live.hidden = false;
    box.classList.add("turned-on");
    new ResizeObserver(() => this.fit()).observe(this.svg.parentElement);
    this.fit();
    this.begin();
  }

  // --- what is drawn, made once -------------------------------------------------------------

  build() {
    const layer = (name) => make("g", { class: name }, this.svg);
    this.solid = layer("iso-solid");
    this.shapes = layer("iso-shapes");
    this.loads = layer("iso-loads");
    this.words = layer("iso-words");
    this.words.setAttribute("aria-hidden", "true");
    this.ring = make("circle", { class: "iso-ring", r: 15, visibility: "hidden" }, this.svg);
    this.hits = layer("iso-hits");
    this.parts = [];
    this.size = this.extent();
    for (const piece of this.scene.pieces) {
      const own = this.stretches(piece).map((points) => this.stretch(piece, points));
      this.parts.push(...own);
      if (piece.kind !== "pipe") this.parts.push({ ...this.symbol(piece), over: own });
    }
    const pipes = [...this.parts];
    for (const target of this.scene.targets) {
      if (!target.symbol) continue;
      const part = this.support(target);
      part.over = pipes.filter((one) => one.ends?.some((end) => Math.hypot(...end.map((v, i) => v - target.at[i])) < 1e-4));
      this.parts.push(part);
    }
    this.moved = this.scene.pieces.map((piece) => ({ piece, node: make("path", { class: "iso-moved" }, this.shapes) }));
    this.past = (this.scene.before || []).map((piece) => ({ piece, node: make("path", { class: "iso-before" }, this.shapes) }));
    this.places = this.scene.targets.map((target, number) => {
      const node = make("g", { class: `iso-hit iso-${target.group}`, role: "button", tabindex: "0", "aria-label": `${target.name}, ${target.kind}` }, this.hits);
      make("circle", { r: 14 }, node);
      if (target.group === "station") make("circle", { r: 2.6, class: "iso-dot" }, node);
      node.addEventListener("focus", () => this.choose(number));
      node.addEventListener("keydown", (event) => {
        if (event.key === "Enter" || event.key === " ") { event.preventDefault(); this.choose(number); }
      });
      const arrow = target.push && target.push.length ? make("path", { class: "iso-load" }, this.loads) : null;
      return { target, node, arrow, number };
    });
    this.compass = layer("iso-compass");
    this.compass.setAttribute("aria-hidden", "true");
    this.compassArms = ["east", "north", "up"].map((words, k) => ({
      way: [k === 0 ? 1 : 0, k === 1 ? 1 : 0, k === 2 ? 1 : 0],
      arm: make("path", { class: k === 1 ? "iso-arm iso-north" : "iso-arm" }, this.compass),
      text: (() => { const t = make("text", { "text-anchor": "middle" }, this.compass); t.textContent = ["E", "N", "up"][k]; return t; })(),
      words,
    }));
  }

  extent() {
    const all = this.scene.pieces.flatMap((piece) => [piece.points[0], piece.points[piece.points.length - 1]]);
    const spread = [0, 1, 2].map((i) => Math.max(...all.map((p) => p[i])) - Math.min(...all.map((p) => p[i])));
    return Math.hypot(...spread) || 1;
  }

  // A piece in stretches short enough to tell which of two that cross lies in front.
  stretches(piece) {
    const points = piece.points;
    const long = points.slice(1).reduce((sum, p, k) => sum + Math.hypot(...p.map((v, i) => v - points[k][i])), 0);
    const count = clamp(Math.ceil((10 * long) / this.size), 1, points.length - 1);
    const found = [];
    for (let k = 0; k < count; k += 1) {
      const from = Math.round((k * (points.length - 1)) / count);
      const to = Math.round(((k + 1) * (points.length - 1)) / count);
      const part = points.slice(from, to + 1);
      const [a, m, b] = [part[0], part[Math.floor(part.length / 2)], part[part.length - 1]];
      const straight = Math.hypot(...a.map((v, i) => (v + b[i]) / 2 - m[i])) < 1e-3 * long || piece.kind !== "pipe" || part.length < 3;
      found.push(straight ? [a, b] : part);
    }
    return found;
  }

  stretch(piece, points) {
    const group = make("g");
    const thin = piece.kind === "rigid" || piece.kind === "reducer"; // their symbol is the body
    const cut = make("path", { class: "iso-cut" }, group);
    const edge = make("path", { class: piece.over ? "iso-edge iso-over" : "iso-edge" }, group);
    const body = thin ? null : make("path", { class: piece.over ? "iso-body iso-overbody" : "iso-body" }, group);
    const last = points.length - 1;
    // The line, made longer at both ends by so many pixels.
    const drawn = (flat, more) => {
      const out = flat.slice();
      for (const [end, next] of [[0, 1], [last, last - 1]]) {
        const long = Math.hypot(flat[end].x - flat[next].x, flat[end].y - flat[next].y);
        if (long < 0.5) continue;
        const share = Math.max(more / long, -0.25);
        out[end] = { x: flat[end].x + (flat[end].x - flat[next].x) * share, y: flat[end].y + (flat[end].y - flat[next].y) * share };
      }
      return path(out);
    };
    return {
      node: group,
      ends: [points[0], points[last]],
      middle: points[0].map((v, i) => (v + points[last][i]) / 2),
      draw: () => {
        const flat = points.map((p) => this.flat(p));
        const wide = thin ? 3.4 : clamp(piece.size * this.scale, 4.6, 26);
        cut.setAttribute("d", drawn(flat, -2));
        cut.setAttribute("stroke-width", wide + 5);
        edge.setAttribute("d", drawn(flat, 0.7));
        edge.setAttribute("stroke-width", wide);
        if (!body) return;
        body.setAttribute("d", drawn(flat, 1.7)); // over the seam of the edge
        body.setAttribute("stroke-width", Math.max(0, wide - 2.6));
      },
    };
  }

  symbol(piece) {
    const group = make("g");
    const back = make("path", { class: "iso-back" }, group);
    const front = make("path", { class: "iso-front" }, group);
    const first = piece.points[0];
    const last = piece.points[piece.points.length - 1];
    return {
      node: group,
      middle: first.map((v, i) => (v + last[i]) / 2),
      lift: 1e-6,
      draw: () => {
        let a = this.flat(first);
        let b = this.flat(last);
        const wide = clamp((piece.size || 0) * this.scale, 9, 34);
        const least = piece.kind === "joint" ? 26 : 18;
        const long = Math.hypot(b.x - a.x, b.y - a.y);
        const u = long > 0.5 ? { x: (b.x - a.x) / long, y: (b.y - a.y) / long } : { x: 1, y: 0 };
        if (long < least) {
          const m = { x: (a.x + b.x) / 2, y: (a.y + b.y) / 2 };
          a = { x: m.x - (u.x * least) / 2, y: m.y - (u.y * least) / 2 };
          b = { x: m.x + (u.x * least) / 2, y: m.y + (u.y * least) / 2 };
        }
        const whole = Math.hypot(b.x - a.x, b.y - a.y);
        const at = (share, across) => ({ x: a.x + u.x * share * whole - u.y * across, y: a.y + u.y * share * whole + u.x * across });
        if (piece.kind === "joint") {
          let under = "";
          let over = "";
          for (const [low, high] of piece.spans) {
            const least2 = Math.min(1, 15 / whole) * (piece.spans.length > 1 ? 0.62 : 1);
            const half = Math.max(high - low, least2) / 2;
            const m = clamp((low + high) / 2, half, 1 - half);
            const h = wide / 2 + 3;
            const frame = [at(m - half, -h - 2), at(m + half, -h - 2), at(m + half, h + 2), at(m - half, h + 2)];
            under += `${path(frame)}Z`;
            if (piece.locked) over += `${path(frame)}Z`;
            const teeth = clamp(Math.round((2 * half * whole) / 6), 3, 8);
            const points = [at(m - half, 0)];
            for (let k = 0; k < 2 * teeth - 1; k += 1) points.push(at(m - half + (2 * half * (k + 1)) / (2 * teeth), k % 2 ? h : -h));
            points.push(at(m + half, 0));
            over += path(points);
          }
          back.setAttribute("d", under);
          front.setAttribute("d", over);
        } else {
          const near = piece.kind === "reducer" ? clamp(piece.size * this.scale, 6, 34) / 2 : wide / 2 + 2;
          let far = piece.kind === "reducer" ? clamp(piece.size_to * this.scale, 6, 34) / 2 : near;
          let start = near;
          if (piece.kind === "reducer" && Math.abs(far - near) < 3) { if (piece.size >= piece.size_to) start = far + 4; else far = near + 4; }
          const corners = [at(0, start), at(1, far), at(1, -far), at(0, -start)];
          back.setAttribute("d", `${path(corners)}Z`);
          front.setAttribute("d", `${path(corners)}Z${piece.kind === "rigid" ? path([corners[0], corners[2]]) + path([corners[1], corners[3]]) : ""}`);
        }
      },
    };
  }

  support(target) {
    const node = make("g", { class: "iso-support" });
    node.innerHTML = this.scene.symbols[target.symbol];
    if (target.gone) { node.classList.add("iso-gone"); node.innerHTML += '<path d="M-9,-9 L9,9 M-9,9 L9,-9"/>'; }
    const upright = /^(rest|rod hanger|variable spring|constant spring)/.test(target.symbol);
    return {
      node,
      middle: target.at,
      lift: 2e-6,
      draw: () => {
        const p = this.flat(target.at);
        const way = (v) => {
          const q = this.flat(target.at.map((one, i) => one + v[i]));
          const long = Math.hypot(q.x - p.x, q.y - p.y);
          return long > 0.12 * this.scale ? { x: (q.x - p.x) / long, y: (q.y - p.y) / long } : null;
        };
        const half = clamp((target.size || 0) * this.scale, 4.6, 26) / 2;
        const along = way(target.along) || { x: 1, y: 0 };
        let u = { x: 1, y: 0 };
        let v = { x: 0, y: 1 };
        if (upright) {
          const down = target.symbol === "rest" || target.symbol.endsWith("below");
          p.y += (down ? 1 : -1) * half * Math.abs(along.x);
        } else {
          const held = target.held ? way(target.held) : null;
          u = target.held && target.symbol !== "guide" ? held || along : along;
          v = { x: -u.y, y: u.x };
          if (target.symbol === "guide" && held && Math.abs(held.x * u.y - held.y * u.x) > 0.35) v = held;
          // Clear of the pipe, however wide it is drawn.
          const [long, wide] = {
            guide: [1, (half + 4) / 6], anchor: [(half + 3) / 8, (half + 3) / 8], nozzle: [1, (half + 4) / 12],
          }[target.symbol] || [1, 1];
          u = { x: u.x * Math.max(1, long), y: u.y * Math.max(1, long) };
          v = { x: v.x * Math.max(1, wide), y: v.y * Math.max(1, wide) };
        }
        node.setAttribute("transform", `matrix(${u.x} ${u.y} ${v.x} ${v.y} ${p.x} ${p.y})`);
      },
    };
  }

  // --- from space to paper ------------------------------------------------------------------

  axes() {
    const a = (this.view.turn * Math.PI) / 180;
    const e = (this.view.tilt * Math.PI) / 180;
    const [ca, sa, ce, se] = [Math.cos(a), Math.sin(a), Math.cos(e), Math.sin(e)];
    return {
      right: [ca, sa, 0],
      up: [-sa * se, ca * se, ce],
      toEye: [sa * ce, -ca * ce, se],
    };
  }

  flat(point) {
    const { right, up } = this.eye;
    const x = right[0] * point[0] + right[1] * point[1];
    const y = up[0] * point[0] + up[1] * point[1] + up[2] * point[2];
    return { x: this.width / 2 + this.view.x + x * this.scale, y: this.height / 2 + this.view.y - y * this.scale };
  }

  depth(point) {
    const t = this.eye.toEye;
    return t[0] * point[0] + t[1] * point[1] + t[2] * point[2];
  }

  fit() {
    const wide = this.svg.parentElement.clientWidth;
    if (!wide) return;
    this.width = wide;
    this.height = clamp(wide * 0.62, 300, Math.max(320, innerHeight * 0.68));
    this.svg.setAttribute("viewBox", `0 0 ${this.width} ${this.height}`);
    this.svg.style.height = `${this.height}px`;
    this.frame();
    this.draw();
  }

  frame() {
    // The scale at which the line fills the stage as it is looked at now.
    this.eye = this.axes();
    const low = { x: Infinity, y: Infinity };
    const high = { x: -Infinity, y: -Infinity };
    for (const piece of [...this.scene.pieces, ...(this.scene.before || [])]) {
      for (const p of piece.points) {
        const x = this.eye.right[0] * p[0] + this.eye.right[1] * p[1];
        const y = this.eye.up[0] * p[0] + this.eye.up[1] * p[1] + this.eye.up[2] * p[2];
        low.x = Math.min(low.x, x); high.x = Math.max(high.x, x);
        low.y = Math.min(low.y, y); high.y = Math.max(high.y, y);
      }
    }
    const side = Math.min(110, 0.16 * this.width);
    this.fitted = Math.min((this.width - 2 * side) / Math.max(high.x - low.x, 0.1), (this.height - 130) / Math.max(high.y - low.y, 0.1));
    this.view.zoom = 1;
    this.view.x = (-(low.x + high.x) / 2) * this.fitted;
    this.view.y = ((low.y + high.y) / 2) * this.fitted;
  }

  // --- drawing ------------------------------------------------------------------------------

  draw() {
    // While the view changes again and again only the chief names are placed; the rest at rest.
    const now = performance.now();
    this.hurried = now - (this.asked_at || 0) < 160;
    this.asked_at = now;
    clearTimeout(this.rest);
    if (this.hurried) this.rest = setTimeout(() => { this.hurried = false; this.label(); }, 180);
    if (this.asked) return;
    this.asked = requestAnimationFrame(() => { this.asked = 0; this.drawNow(); });
  }

  drawNow() {
    this.eye = this.axes();
    this.scale = this.fitted * this.view.zoom;
    for (const part of this.parts) { part.depth = this.depth(part.middle) + (part.lift || 0); part.draw(); }
    // A support stands in front of the pipe that it holds, wherever the middle of that pipe is.
    for (const part of this.parts) for (const one of part.over || []) part.depth = Math.max(part.depth, one.depth + 2e-6);
    const sorted = [...this.parts].sort((a, b) => a.depth - b.depth);
    if (sorted.some((part, k) => this.order?.[k] !== part)) {
      this.order = sorted;
      this.solid.append(...sorted.map((part) => part.node));
    }
    const times = this.times;
    const shape = ({ piece, node }) => {
      const move = piece.moved[this.state];
      if (!move || !move.length || times === 0) { node.removeAttribute("d"); return; }
      node.setAttribute("d", path(piece.points.map((p, k) => this.flat(p.map((v, i) => v + times * move[k][i])))));
    };
    this.moved.forEach(shape);
    this.past.forEach(shape);
    for (const place of this.places) this.place(place);
    this.turnCompass();
    this.label();
    this.markChosen();
  }

  place(place) {
    const { target, node, arrow } = place;
    place.spot = this.flat(target.at);
    node.setAttribute("transform", `translate(${place.spot.x.toFixed(1)} ${place.spot.y.toFixed(1)})`);
    const out = place.spot.x < 0 || place.spot.y < 0 || place.spot.x > this.width || place.spot.y > this.height;
    place.out = out;
    if (!arrow) return;
    const push = target.push[this.state] || [0, 0, 0];
    const size = Math.hypot(...push);
    arrow.removeAttribute("d");
    place.tip = null;
    if (size < 1e-6) return;
    const { right, up } = this.eye;
    const x = (right[0] * push[0] + right[1] * push[1]) / size;
    const y = -(up[0] * push[0] + up[1] * push[1] + up[2] * push[2]) / size;
    const long = 26 + 38 * size;
    if (Math.hypot(x, y) * long < 9) return; // towards the eye: its numbers tell it
    const tip = { x: place.spot.x + x * long, y: place.spot.y + y * long };
    place.tip = tip;
    const angle = Math.atan2(y, x);
    const wing = (turn) => ({ x: tip.x + 9 * Math.cos(angle + turn), y: tip.y + 9 * Math.sin(angle + turn) });
    arrow.setAttribute("d", `${path([place.spot, tip])}${path([wing(2.7), tip, wing(-2.7)])}`);
  }

  turnCompass() {
    const origin = { x: this.width - 52, y: 62 };
    for (const { way, arm, text } of this.compassArms) {
      const { right, up } = this.eye;
      const x = right[0] * way[0] + right[1] * way[1] + right[2] * way[2];
      const y = -(up[0] * way[0] + up[1] * way[1] + up[2] * way[2]);
      const long = Math.hypot(x, y);
      const seen = long > 0.15;
      arm.setAttribute("visibility", seen ? "inherit" : "hidden");
      text.setAttribute("visibility", seen ? "inherit" : "hidden");
      const tip = { x: origin.x + 28 * x, y: origin.y + 28 * y };
      const angle = Math.atan2(y, x);
      const wing = (turn) => ({ x: tip.x + 6 * Math.cos(angle + turn), y: tip.y + 6 * Math.sin(angle + turn) });
      arm.setAttribute("d", `${path([origin, tip])}${path([wing(2.6), tip, wing(-2.6)])}`);
      text.setAttribute("x", origin.x + (28 + 13 / (long || 1)) * x);
      text.setAttribute("y", origin.y + (28 + 13 / (long || 1)) * y + 4);
    }
  }

  // --- names that keep out of each other's way ----------------------------------------------

  label() {
    this.words.replaceChildren();
    const wide = Math.ceil(this.width / CELL);
    const tall = Math.ceil(this.height / CELL);
    const taken = new Uint8Array(wide * tall);
    const take = (x0, y0, x1, y1) => {
      for (let y = Math.max(0, Math.floor(y0 / CELL)); y <= Math.min(tall - 1, Math.floor(y1 / CELL)); y += 1) {
        for (let x = Math.max(0, Math.floor(x0 / CELL)); x <= Math.min(wide - 1, Math.floor(x1 / CELL)); x += 1) taken[y * wide + x] = 1;
      }
    };
    const free = (x0, y0, x1, y1) => {
      if (x0 < 2 || y0 < 2 || x1 > this.width - 2 || y1 > this.height - 2) return false;
      for (let y = Math.floor(y0 / CELL); y <= Math.floor(y1 / CELL); y += 1) {
        for (let x = Math.floor(x0 / CELL); x <= Math.floor(x1 / CELL); x += 1) if (taken[y * wide + x]) return false;
      }
      return true;
    };
    const trace = (p, q, r) => {
      const count = Math.max(1, Math.ceil(Math.hypot(q.x - p.x, q.y - p.y) / CELL));
      for (let k = 0; k <= count; k += 1) {
        const x = p.x + ((q.x - p.x) * k) / count;
        const y = p.y + ((q.y - p.y) * k) / count;
        take(x - r, y - r, x + r, y + r);
      }
    };
    take(this.width - 104, 0, this.width, 110);
    const times = this.times;
    for (const { piece } of this.moved) {
      const half = piece.kind === "pipe" ? clamp(piece.size * this.scale, 4.6, 26) / 2 : clamp(piece.size * this.scale, 9, 34) / 2 + 4;
      const flat = piece.points.map((p) => this.flat(p));
      for (let k = 1; k < flat.length; k += 1) trace(flat[k - 1], flat[k], half);
      const move = piece.moved[this.state];
      if (!move || !move.length || !times) continue;
      const there = piece.points.map((p, k) => this.flat(p.map((v, i) => v + times * move[k][i])));
      for (let k = 1; k < there.length; k += 1) trace(there[k - 1], there[k], 1);
    }
    for (const place of this.places) {
      if (place.target.symbol) {
        const tall = 24 + clamp((place.target.size || 0) * this.scale, 4.6, 26) / 2;
        take(place.spot.x - 11, place.spot.y - tall, place.spot.x + 11, place.spot.y + tall);
      }
      if (place.tip) trace(place.spot, place.tip, 4);
    }
    const rank = { joint: 0, support: 1, part: 2, station: 3 };
    const order = this.places.filter((place) => !place.out)
      .sort((a, b) => (b.number === this.chosen) - (a.number === this.chosen) || rank[a.target.group] - rank[b.target.group]);
    const said = new Set(this.places.filter((p) => p.target.group !== "station").map((p) => p.target.name));
    const heavies = order.filter((place) => place.target.group !== "station").length;
    const far = heavies > 40 ? 44 : 150; // in a crowd only what finds room near by; come nearer for the rest
    this.svg.classList.toggle("iso-crowded", order.length > 120);
    for (const place of order) {
      const { target, spot } = place;
      if (target.group === "station" && (said.has(target.name) || this.busy || this.hurried)) continue;
      const heavy = target.group !== "station";
      const size = heavy ? LETTER : LETTER - 1.5;
      const long = this.measure(target.name, size, heavy);
      const found = this.room(spot, long + 4, size + 4, free, place.number === this.chosen ? 150 : heavy ? far : 42);
      if (!found) continue;
      const [x0, y0] = found;
      take(x0, y0, x0 + long + 4, y0 + size + 4);
      const near = { x: clamp(spot.x, x0, x0 + long + 4), y: clamp(spot.y, y0, y0 + size + 4) };
      if (Math.hypot(near.x - spot.x, near.y - spot.y) > 20) {
        make("path", { class: "iso-leader", d: path([spot, near]) }, this.words);
        trace(spot, near, 0.5);
      }
      const text = make("text", { x: x0 + 2, y: y0 + size, "font-size": size, "font-weight": heavy ? 600 : 400, class: heavy ? "" : "iso-minor" }, this.words);
      text.textContent = target.name;
    }
  }

  measure(words, size, heavy) {
    this.pen ??= document.createElement("canvas").getContext("2d");
    this.widths ??= new Map();
    const key = `${words}|${size}|${heavy}`;
    if (!this.widths.has(key)) {
      this.pen.font = `${heavy ? 600 : 400} ${size}px ${getComputedStyle(this.svg).fontFamily}`;
      this.widths.set(key, this.pen.measureText(words).width);
    }
    return this.widths.get(key);
  }

  room(spot, wide, tall, free, far) {
    for (let radius = 12; radius <= far; radius += 9) {
      for (let k = 0; k < 16; k += 1) {
        const angle = -Math.PI / 4 + (k * Math.PI) / 8;
        const [c, s] = [Math.cos(angle), Math.sin(angle)];
        const x0 = spot.x + radius * c - wide * (0.5 - 0.5 * c);
        const y0 = spot.y + radius * s - tall * (0.5 - 0.5 * s);
        if (free(x0, y0, x0 + wide, y0 + tall)) return [x0, y0];
      }
    }
    return null;
  }

  // --- choosing a place and reading its numbers ---------------------------------------------

  choose(number) {
    if (this.chosen === number && this.noted === this.state) return;
    this.chosen = number;
    this.bring(this.scene.targets[number].at);
    this.tell();
    if (this.pick) this.pick.value = String(number);
    this.draw();
  }

  // Move the view where a place that is chosen lies outside it.
  bring(at) {
    if (!this.fitted) return;
    this.scale = this.fitted * this.view.zoom;
    const p = this.flat(at);
    if (p.x > 24 && p.y > 24 && p.x < this.width - 24 && p.y < this.height - 24) return;
    this.view.x += this.width / 2 - p.x;
    this.view.y += this.height / 2 - p.y;
  }

  markChosen() {
    this.places.forEach((place) => place.node.setAttribute("aria-pressed", String(place.number === this.chosen)));
    if (this.chosen === null) { this.ring.setAttribute("visibility", "hidden"); return; }
    const { spot } = this.places[this.chosen];
    this.ring.setAttribute("visibility", "visible");
    this.ring.setAttribute("cx", spot.x);
    this.ring.setAttribute("cy", spot.y);
  }

  tell() {
    this.noted = this.state;
    const { target } = this.places[this.chosen];
    const element = (name, words = "", parent = null, kind = "") => {
      const node = document.createElement(name);
      node.textContent = words;
      if (kind) node.className = kind;
      if (parent) parent.append(node);
      return node;
    };
    this.note.replaceChildren();
    element("p", target.name, this.note, "iso-name");
    element("p", `${target.kind}${this.scene.states[this.state] ? `, ${this.scene.states[this.state].name}` : ""}`, this.note, "small");
    const says = target.says[this.state];
    if (says) element("p", `▲ ${says}`, this.note, "warn");
    const rows = target.numbers[this.state] || [];
    if (rows.length) {
      const table = element("table", "", this.note);
      if (this.scene.compared) {
        const head = element("tr", "", element("thead", "", table));
        element("td", "", head);
        for (const words of ["before", "after"]) { const cell = element("th", words, head, "n"); cell.scope = "col"; }
      }
      const body = element("tbody", "", table);
      for (const [what, now, then] of rows) {
        const row = element("tr", "", body);
        element("th", what, row).scope = "row";
        if (this.scene.compared) element("td", then ?? "", row, "n");
        element("td", now, row, "n");
      }
    }
    for (const [words, href] of target.links) {
      const link = element("a", words, element("p", "", this.note));
      link.href = href;
    }
  }

  // --- controls -----------------------------------------------------------------------------

  get times() {
    return this.slider ? STEPS[Number(this.slider.value)] : 0;
  }

  controls() {
    const q = (name) => this.box.querySelector(`[data-${name}]`);
    this.slider = q("times");
    this.out = q("times-out");
    this.pick = q("pick");
    const states = q("states");
    if (states) {
      states.value = String(this.state);
      states.addEventListener("change", () => { this.state = Number(states.value); this.begin(); if (this.chosen !== null) this.tell(); });
    }
    if (this.slider) {
      this.slider.max = String(STEPS.length - 1);
      this.slider.addEventListener("input", () => { this.sayTimes(); this.draw(); });
    }
    for (const group of [["joint", "Joints"], ["support", "Supports"], ["part", "Rigid parts"], ["station", "Stations"]]) {
      const found = this.places.filter((place) => place.target.group === group[0]);
      if (!found.length) continue;
      const list = document.createElement("optgroup");
      list.label = group[1];
      for (const place of found) list.append(new Option(place.target.name, String(place.number)));
      this.pick.append(list);
    }
    this.pick.addEventListener("change", () => { if (this.pick.value !== "") this.choose(Number(this.pick.value)); });
    for (const button of this.box.querySelectorAll("[data-view]")) {
      button.addEventListener("click", () => { Object.assign(this.view, VIEWS[button.dataset.view]); this.frame(); this.draw(); });
    }
    for (const button of this.box.querySelectorAll("[data-act]")) button.addEventListener("click", () => this.act(button.dataset.act));
  }

  begin() {
    // The exaggeration at which the state's largest movement is well seen.
    const state = this.scene.states[this.state];
    if (state && this.slider && this.fitted) {
      const wanted = state.largest > 1e-9 ? LARGEST / (state.largest * this.fitted) : 0;
      let best = 0;
      STEPS.forEach((step, k) => { if (step <= wanted * 1.0001) best = k; });
      this.slider.value = String(best);
      this.sayTimes();
      const words = this.box.querySelector("[data-words]");
      if (words) { words.textContent = state.words; words.classList.toggle("warn", !state.usable); }
    }
    this.draw();
  }

  sayTimes() {
    const words = this.times === 0 ? "not drawn" : `drawn ${this.times} ×`;
    this.out.textContent = words;
    this.slider.setAttribute("aria-valuetext", words);
  }

  act(name) {
    const step = 15;
    const pan = 40;
    const acts = {
      left: () => { this.view.turn -= step; },
      right: () => { this.view.turn += step; },
      up: () => { this.view.tilt = clamp(this.view.tilt + step, -90, 90); },
      down: () => { this.view.tilt = clamp(this.view.tilt - step, -90, 90); },
      nearer: () => this.zoom(1.25, this.width / 2, this.height / 2),
      farther: () => this.zoom(0.8, this.width / 2, this.height / 2),
      "pan-left": () => { this.view.x += pan; },
      "pan-right": () => { this.view.x -= pan; },
      "pan-up": () => { this.view.y += pan; },
      "pan-down": () => { this.view.y -= pan; },
      whole: () => { Object.assign(this.view, ISOMETRIC); this.frame(); },
    };
    acts[name]();
    this.draw();
  }

  zoom(factor, x, y) {
    const next = clamp(this.view.zoom * factor, 0.3, 40);
    const share = next / this.view.zoom;
    const [cx, cy] = [x - this.width / 2, y - this.height / 2];
    this.view.x = cx - (cx - this.view.x) * share;
    this.view.y = cy - (cy - this.view.y) * share;
    this.view.zoom = next;
  }

  // --- pointer, touch, keys -----------------------------------------------------------------

  events() {
    const spot = (event) => {
      const box = this.svg.getBoundingClientRect();
      return { x: event.clientX - box.left, y: event.clientY - box.top };
    };
    this.svg.addEventListener("keydown", (event) => {
      if (event.ctrlKey || event.metaKey || event.altKey) return;
      const arrows = { ArrowLeft: "left", ArrowRight: "right", ArrowUp: "up", ArrowDown: "down" };
      let name = arrows[event.key];
      if (name && event.shiftKey) name = `pan-${name}`;
      name ??= { "+": "nearer", "=": "nearer", "-": "farther", 0: "whole", Home: "whole" }[event.key];
      if (!name) return;
      event.preventDefault();
      this.act(name);
    });
    this.svg.addEventListener("wheel", (event) => {
      if (!event.ctrlKey && !this.svg.contains(document.activeElement)) return;
      event.preventDefault();
      const at = spot(event);
      this.zoom(Math.exp(-event.deltaY * 0.0016), at.x, at.y);
      this.draw();
    }, { passive: false });
    this.svg.addEventListener("contextmenu", (event) => event.preventDefault());
    this.svg.addEventListener("pointerdown", (event) => {
      this.pointers.set(event.pointerId, { ...spot(event), start: spot(event), pan: event.shiftKey || event.button > 0 });
      this.svg.setPointerCapture(event.pointerId);
      if (event.pointerType === "mouse") { this.svg.focus({ preventScroll: true }); event.preventDefault(); }
    });
    this.svg.addEventListener("pointermove", (event) => {
      const was = this.pointers.get(event.pointerId);
      if (!was) return;
      const now = spot(event);
      if (this.pointers.size === 2) {
        const other = [...this.pointers.entries()].find(([id]) => id !== event.pointerId)[1];
        const before = Math.hypot(was.x - other.x, was.y - other.y) || 1;
        const after = Math.hypot(now.x - other.x, now.y - other.y) || 1;
        this.view.x += (now.x - was.x) / 2;
        this.view.y += (now.y - was.y) / 2;
        this.zoom(after / before, (now.x + other.x) / 2, (now.y + other.y) / 2);
      } else if (was.pan) {
        this.view.x += now.x - was.x;
        this.view.y += now.y - was.y;
      } else if (this.busy || Math.hypot(now.x - was.start.x, now.y - was.start.y) > 4) {
        this.view.turn -= (now.x - was.x) * 0.4;
        this.view.tilt = clamp(this.view.tilt + (now.y - was.y) * 0.4, -90, 90);
        this.busy = true;
      } else return;
      Object.assign(was, now);
      this.draw();
    });
    const end = (event, click) => {
      const was = this.pointers.get(event.pointerId);
      this.pointers.delete(event.pointerId);
      const now = spot(event);
      if (click && was && !was.pan && !this.busy && Math.hypot(now.x - was.start.x, now.y - was.start.y) <= 4) this.click(now);
      if (!this.pointers.size && this.busy) { this.busy = false; this.draw(); }
    };
    this.svg.addEventListener("pointerup", (event) => end(event, true));
    this.svg.addEventListener("pointercancel", (event) => end(event, false));
  }

  click(at) {
    const rank = { joint: 0, support: 1, part: 2, station: 3 };
    const near = this.places
      .map((place) => ({ place, far: Math.hypot(place.spot.x - at.x, place.spot.y - at.y) }))
      .filter((one) => one.far < REACH)
      .sort((a, b) => Math.round(a.far / 5) - Math.round(b.far / 5) || rank[a.place.target.group] - rank[b.place.target.group]);
    if (!near.length) return;
    // A second click on one spot goes on to what lies behind.
    const same = near.findIndex((one) => one.place.number === this.chosen);
    const next = near[(same + 1) % near.length].place;
    this.choose(next.number);
    next.node.focus({ preventScroll: true });
  }
}

for (const box of document.querySelectorAll("[data-isometric]")) {
  try {
    new Line(box);
  } catch (fault) {
    box.classList.remove("turned-on"); // the drawing on paper is still there
    box.querySelector("[data-live]").hidden = true;
    console.error(fault);
  }
}
