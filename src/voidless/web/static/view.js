"use strict";
(() => {
  const root = document.querySelector(".view");
  const part = (name) => root.querySelector(".view-" + name);
  const told = part("told"), plate = part("plate"), slider = part("layer"), alone = part("alone"), shown = part("shown");
  const say = (text) => { told.textContent = text; };

  // One box per bead: its corners are made from both ends, width and thickness.
  const VERTEX = `#version 300 es
    in vec3 corner; in vec3 start; in vec3 end; in vec2 size; in vec2 told;
    uniform mat3 turn; uniform vec3 middle; uniform vec2 scale; uniform float depth; uniform vec2 layers;
    out vec3 place; out float value;
    void main() {
      vec2 way = end.xy - start.xy; float length_ = length(way);
      vec2 along = length_ > 0.0 ? way / length_ : vec2(1.0, 0.0);
      vec3 at = mix(start, end, corner.x);
      at.xy += along * (corner.x - 0.5) * 0.6 * size.x + vec2(-along.y, along.x) * corner.y * 0.48 * size.x;
      at.z -= corner.z * 0.94 * size.y;
      place = turn * (at - middle); value = told.x;
      bool hidden_ = told.y > layers.y || told.y < layers.x;
      gl_Position = hidden_ ? vec4(2.0, 2.0, 2.0, 1.0) : vec4(place.xy * scale, -place.z / depth, 1.0);
    }`;
  const FRAGMENT = `#version 300 es
    precision highp float;
    in vec3 place; in float value; uniform vec3 colours[64]; uniform vec2 span; out vec4 colour;
    void main() {
      vec3 face = normalize(cross(dFdx(place), dFdy(place)));
      float light = 0.55 + 0.45 * abs(dot(face, normalize(vec3(0.25, 0.45, 0.86))));
      float share = clamp((value - span.x) / (span.y - span.x), 0.0, 0.999);
      vec3 own = value < -1e29 ? vec3(0.72) : colours[int(share * 64.0)];
      colour = vec4(own * light, 1.0);
    }`;
  const CORNERS = [0, -1, 0, 0, 1, 0, 0, -1, 1, 0, 1, 1, 1, -1, 0, 1, 1, 0, 1, -1, 1, 1, 1, 1];
  const SIDES = [0, 4, 5, 0, 5, 1, 2, 3, 7, 2, 7, 6, 0, 2, 6, 0, 6, 4, 1, 5, 7, 1, 7, 3, 0, 1, 3, 0, 3, 2, 4, 6, 7, 4, 7, 5];
  const HOME = { yaw: -0.6, pitch: 0.62, zoom: 1, x: 0, y: 0 };
  const look = { ...HOME };
  const fixed = (low, value, high) => Math.min(Math.max(value, low), high);

  function program(gl) {
    const made = gl.createProgram();
    for (const [kind, text] of [[gl.VERTEX_SHADER, VERTEX], [gl.FRAGMENT_SHADER, FRAGMENT]]) {
      const shader = gl.createShader(kind);
      gl.shaderSource(shader, text); gl.compileShader(shader);
      if (!gl.getShaderParameter(shader, gl.COMPILE_STATUS)) throw new Error(gl.getShaderInfoLog(shader));
      gl.attachShader(made, shader);
    }
    gl.linkProgram(made); gl.useProgram(made);
    return made;
  }

  function columns(data) {
    const beads = data.beads, count = beads.layer.length;
    const first = new Map(data.layer_numbers.map((number, place) => [number, place]));
    const rise = data.tops_mm.map((top, place) => top - (place ? data.tops_mm[place - 1] : 0));
    const found = { count, place: new Float32Array(6 * count), size: new Float32Array(2 * count), layer: new Float32Array(count) };
    const low = [Infinity, Infinity, 0], high = [-Infinity, -Infinity, -Infinity];
    for (let n = 0; n < count; n++) {
      const ends = [beads.x0_mm[n], beads.y0_mm[n], beads.z_mm[n], beads.x1_mm[n], beads.y1_mm[n], beads.z_mm[n]];
      found.place.set(ends, 6 * n);
      for (let k = 0; k < 6; k++) { low[k % 3] = Math.min(low[k % 3], ends[k]); high[k % 3] = Math.max(high[k % 3], ends[k]); }
      found.layer[n] = first.get(beads.layer[n]);
      found.size.set([beads.width_mm[n], rise[found.layer[n]]], 2 * n);
    }
    found.middle = low.map((value, k) => 0.5 * (value + high[k]));
    const half = low.map((value, k) => 0.5 * (high[k] - value));
    found.radius = Math.hypot(...half);
    // Half of what the box round all beads takes across and up as first seen.
    const [s, c, sp, cp] = [Math.sin(HOME.yaw), Math.cos(HOME.yaw), Math.sin(HOME.pitch), Math.cos(HOME.pitch)].map(Math.abs);
    found.seen = [half[0] * c + half[1] * s, (half[0] * s + half[1] * c) * sp + half[2] * cp];
    return found;
  }

  // Pixels of a millimetre: at zoom 1 all beads, as first seen, fill most of the plate.
  const pixels = (seen, wide, tall) => 0.46 * look.zoom * Math.min(wide / seen[0], tall / seen[1]);

  function draw(data) {
    const gl = plate.getContext("webgl2", { antialias: true, alpha: true, preserveDrawingBuffer: true });
    if (!gl) { say("This browser draws no beads (it lacks WebGL 2). voidless part FILE --picture NAME.svg draws them."); return; }
    const made = program(gl), found = columns(data), uniform = (name) => gl.getUniformLocation(made, name);
    const buffer = (values, kind = gl.ARRAY_BUFFER) => {
      const one = gl.createBuffer(); gl.bindBuffer(kind, one); gl.bufferData(kind, values, gl.STATIC_DRAW); return one;
    };
    const column = (name, size, stride, offset, each) => {
      const where = gl.getAttribLocation(made, name);
      gl.enableVertexAttribArray(where); gl.vertexAttribPointer(where, size, gl.FLOAT, false, stride, offset); gl.vertexAttribDivisor(where, each);
    };
    buffer(new Float32Array(CORNERS)); column("corner", 3, 0, 0, 0);
    buffer(new Uint16Array(SIDES), gl.ELEMENT_ARRAY_BUFFER);
    buffer(found.place); column("start", 3, 24, 0, 1); column("end", 3, 24, 12, 1);
    buffer(found.size); column("size", 2, 0, 0, 1);
    const values = new Float32Array(2 * found.count), valueBuffer = buffer(values);
    column("told", 2, 0, 0, 1);
    gl.enable(gl.DEPTH_TEST);
    gl.uniform3fv(uniform("colours"), data.colours.flatMap((hex) => [1, 3, 5].map((k) => parseInt(hex.slice(k, k + 2), 16) / 255)));
    gl.uniform3fv(uniform("middle"), found.middle);

    let waiting = false;
    const paint = () => {
      waiting = false;
      const ratio = window.devicePixelRatio || 1, wide = Math.round(plate.clientWidth * ratio), tall = Math.round(plate.clientHeight * ratio);
      if (plate.width !== wide || plate.height !== tall) { plate.width = wide; plate.height = tall; }
      gl.viewport(0, 0, wide, tall); gl.clearColor(0, 0, 0, 0); gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
      const [s, c, sp, cp] = [Math.sin(look.yaw), Math.cos(look.yaw), Math.sin(look.pitch), Math.cos(look.pitch)];
      gl.uniformMatrix3fv(uniform("turn"), false, [c, -s * sp, s * cp, s, c * sp, -c * cp, 0, cp, sp]);
      const scale = 2 * pixels(found.seen, wide, tall);
      gl.uniform2f(uniform("scale"), scale / wide, scale / tall);
      gl.uniform1f(uniform("depth"), 1.05 * found.radius + 1);
      gl.uniform3fv(uniform("middle"), [0, 1, 2].map((k) => found.middle[k] - look.x * [c, s, 0][k] - look.y * [-s * sp, c * sp, cp][k]));
      gl.uniform2f(uniform("layers"), alone.checked ? +slider.value - 0.5 : -1, +slider.value + 0.5);
      gl.drawElementsInstanced(gl.TRIANGLES, 36, gl.UNSIGNED_SHORT, 0, found.count);
    };
    const again = () => { if (!waiting) { waiting = true; requestAnimationFrame(paint); } };
    const colour = () => {
      const scale = data.scales[shown.value], column_ = data.beads[scale.column];
      for (let n = 0; n < found.count; n++) { values[2 * n] = column_[n] === null ? -1e30 : column_[n]; values[2 * n + 1] = found.layer[n]; }
      gl.bindBuffer(gl.ARRAY_BUFFER, valueBuffer); gl.bufferData(gl.ARRAY_BUFFER, values, gl.STATIC_DRAW);
      gl.uniform2f(uniform("span"), scale.low, scale.high);
      key(data, scale); again();
    };
    const layer = () => {
      const place = +slider.value;
      say(`Up to layer ${data.layer_numbers[place]} (layers ${data.layer_numbers[0]} to ${data.layer_numbers.at(-1)}), top at ${data.tops_mm[place].toFixed(2)} mm; ${found.count} beads in all.`);
      again();
    };
    for (const [name, scale] of Object.entries(data.scales)) shown.add(new Option(scale.label, name));
    for (const name of ["weld", "fill"]) if (data.scales[name]) shown.value = name;
    slider.max = data.tops_mm.length - 1; slider.value = slider.max;
    part("tools").hidden = part("key").hidden = false;
    shown.addEventListener("change", colour); slider.addEventListener("input", layer); alone.addEventListener("change", again);
    part("home").addEventListener("click", () => { Object.assign(look, HOME); slider.value = slider.max; alone.checked = false; layer(); });
    new ResizeObserver(again).observe(plate);
    handle(again, (step) => { slider.value = +slider.value + step; layer(); }, found.seen);
    colour(); layer();
  }

  function key(data, scale) {
    const bar = part("bar"), pen = bar.getContext("2d");
    bar.width = data.colours.length; bar.height = 1;
    data.colours.forEach((hex, place) => { pen.fillStyle = hex; pen.fillRect(place, 0, 1, 1); });
    part("ticks").replaceChildren(...scale.ticks.map(({ place, text }) => {
      const tick = document.createElement("span");
      tick.textContent = text; tick.style.left = 100 * place + "%";
      return tick;
    }));
    part("label").textContent = scale.label;
  }

  function handle(again, climb, seen) {
    const fingers = new Map();
    const turn = (x, y) => { look.yaw -= x; look.pitch = fixed(-Math.PI / 2, look.pitch + y, Math.PI / 2); again(); };
    const move = (x, y) => { const mm = 1 / pixels(seen, plate.clientWidth, plate.clientHeight); look.x += x * mm; look.y -= y * mm; again(); };
    const grow = (times) => { look.zoom = fixed(0.3, look.zoom * times, 60); again(); };
    const apart = () => { const [a, b] = [...fingers.values()]; return Math.hypot(a.x - b.x, a.y - b.y); };
    plate.addEventListener("pointerdown", (event) => { plate.setPointerCapture(event.pointerId); fingers.set(event.pointerId, { x: event.clientX, y: event.clientY }); });
    for (const name of ["pointerup", "pointercancel"]) plate.addEventListener(name, (event) => fingers.delete(event.pointerId));
    plate.addEventListener("pointermove", (event) => {
      const before = fingers.get(event.pointerId);
      if (!before) return;
      const [x, y] = [event.clientX - before.x, event.clientY - before.y], was = fingers.size === 2 ? apart() : 0;
      fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
      if (fingers.size === 2) { move(x / 2, y / 2); if (was > 0) grow(apart() / was); }
      else if (event.shiftKey || event.buttons === 4) move(x, y);
      else turn(0.008 * x, 0.008 * y);
    });
    plate.addEventListener("wheel", (event) => { event.preventDefault(); grow(Math.exp(-0.0015 * event.deltaY)); }, { passive: false });
    const KEYS = {
      ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1],
    };
    plate.addEventListener("keydown", (event) => {
      const step = KEYS[event.key];
      if (step && event.shiftKey) move(24 * step[0], 24 * step[1]);
      else if (step) turn(0.1 * step[0], 0.1 * step[1]);
      else if (event.key === "+" || event.key === "=") grow(1.2);
      else if (event.key === "-") grow(1 / 1.2);
      else if (event.key === "PageUp") climb(1);
      else if (event.key === "PageDown") climb(-1);
      else if (event.key === "Home") part("home").click();
      else return;
      event.preventDefault();
    });
  }

  fetch(root.dataset.source, { headers: { accept: "application/json" } })
    .then(async (answer) => { const data = await answer.json(); if (!answer.ok) throw new Error(data.error.what); return data; })
    .then(draw)
    .catch((fault) => say(`This did not work: ${fault.message}`));
})();
