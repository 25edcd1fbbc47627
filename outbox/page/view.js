// Shows the scanned panel and lets it be turned. Without WebGL the picture stays, and nothing is lost.
(function () {
  "use strict";
  var box = document.getElementById("panel");
  var data = document.getElementById("panel-data");
  if (!box || !data) return;
  var d = JSON.parse(data.textContent);
  var canvas = box.querySelector("canvas");
  var gl = canvas.getContext("webgl", { alpha: true, antialias: true });
  if (!gl) return;

  function shorts(text) {
    var s = atob(text), out = new Int16Array(s.length / 2);
    for (var i = 0; i < out.length; i++) out[i] = s.charCodeAt(2 * i) | (s.charCodeAt(2 * i + 1) << 8);
    return out;
  }
  var R = d.rows, C = d.columns, N = R * C;
  if (N > 65535) return;
  var places = shorts(d.places), departure = shorts(d.departure), u = shorts(d.u), table = atob(d.colours);
  var base = new Float32Array(3 * N), normal = new Float32Array(3 * N), colour = new Uint8Array(4 * N), lift = new Float32Array(N);
  for (var i = 0; i < 3 * N; i++) base[i] = places[i] * d.unit_mm;

  function seen(i) { return departure[i] !== -32768; }
  function put(i) { // colour and departure of point i
    var steps = table.length / 3 - 1, k = 0;
    if (!seen(i)) { colour.set([150, 150, 150, 255], 4 * i); return; }
    lift[i] = departure[i] / 1000;
    k = Math.round((Math.max(-1, Math.min(1, lift[i] / d.span_mm)) + 1) / 2 * steps);
    colour.set([table.charCodeAt(3 * k), table.charCodeAt(3 * k + 1), table.charCodeAt(3 * k + 2), 255], 4 * i);
  }
  function along(a, b) { return [base[3 * b] - base[3 * a], base[3 * b + 1] - base[3 * a + 1], base[3 * b + 2] - base[3 * a + 2]]; }
  // Columns run from the upper tail forward and back below, rows away from the viewer. Which way is out is
  // told from the first row: the panel's middle lies inside.
  function outward(r, c) {
    var a = along(r * C + Math.max(c - 1, 0), r * C + Math.min(c + 1, C - 1));
    var b = along(Math.max(r - 1, 0) * C + c, Math.min(r + 1, R - 1) * C + c);
    var n = [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
    var l = Math.hypot(n[0], n[1], n[2]) || 1;
    return [n[0] / l, n[1] / l, n[2] / l];
  }
  var area = 0; // of the first row's outline, signed: tells the sense of its run
  for (i = 0; i < C; i++) {
    var j = (i + 1) % C;
    area += base[3 * i] * base[3 * j + 1] - base[3 * j] * base[3 * i + 1];
  }
  var sense = area > 0 ? 1 : -1;
  for (var r = 0; r < R; r++) for (var c = 0; c < C; c++) {
    i = r * C + c;
    put(i);
    var n = outward(r, c);
    for (var k = 0; k < 3; k++) normal[3 * i + k] = sense * n[k];
  }
  var index = new Uint16Array(6 * (R - 1) * (C - 1)), at = 0;
  for (r = 0; r < R - 1; r++) for (c = 0; c < C - 1; c++) {
    i = r * C + c;
    index.set([i, i + C, i + C + 1, i, i + C + 1, i + 1], at);
    at += 6;
  }

  function shader(kind, text) {
    var s = gl.createShader(kind);
    gl.shaderSource(s, text);
    gl.compileShader(s);
    return s;
  }
  var program = gl.createProgram();
  gl.attachShader(program, shader(gl.VERTEX_SHADER,
    "attribute vec3 place; attribute vec3 normal; attribute vec4 colour; attribute float lift;" +
    "uniform mat3 turn; uniform vec3 zoom; uniform vec2 shift; uniform float times; uniform float dot_size;" +
    "varying vec4 paint;" +
    "void main() {" +
    "  vec3 p = turn * (place + normal * lift * times), n = turn * normal;" +
    "  float far = 1.0 + p.z * zoom.z;" +
    "  gl_Position = vec4(p.x * zoom.x + shift.x * far, p.y * zoom.y + shift.y * far, (p.z * zoom.z) * 0.9 * far, far);" +
    "  gl_PointSize = dot_size;" +
    "  float light = 0.62 + 0.38 * abs(dot(normalize(n), normalize(vec3(-0.35, 0.8, -0.5))));" +
    "  paint = dot_size > 0.0 ? vec4(0.1, 0.1, 0.1, 1.0) : vec4(colour.rgb * light, 1.0);" +
    "}"));
  gl.attachShader(program, shader(gl.FRAGMENT_SHADER,
    "precision mediump float; varying vec4 paint; void main() { gl_FragColor = paint; }"));
  gl.linkProgram(program);
  if (!gl.getProgramParameter(program, gl.LINK_STATUS)) return;
  gl.useProgram(program);
  function attribute(name, values, size, type, even) {
    var where = gl.getAttribLocation(program, name);
    gl.bindBuffer(gl.ARRAY_BUFFER, gl.createBuffer());
    gl.bufferData(gl.ARRAY_BUFFER, values, gl.STATIC_DRAW);
    gl.enableVertexAttribArray(where);
    gl.vertexAttribPointer(where, size, type, even, 0, 0);
  }
  attribute("place", base, 3, gl.FLOAT, false);
  attribute("normal", normal, 3, gl.FLOAT, false);
  attribute("colour", colour, 4, gl.UNSIGNED_BYTE, true);
  attribute("lift", lift, 1, gl.FLOAT, false);
  gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, gl.createBuffer());
  gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, index, gl.STATIC_DRAW);
  function uniform(name) { return gl.getUniformLocation(program, name); }
  var uTurn = uniform("turn"), uZoom = uniform("zoom"), uShift = uniform("shift"), uTimes = uniform("times"), uDot = uniform("dot_size");
  gl.enable(gl.DEPTH_TEST);
  gl.clearColor(0, 0, 0, 0);

  var reach = 0;
  for (i = 0; i < N; i++) reach = Math.max(reach, Math.hypot(base[3 * i], base[3 * i + 1], base[3 * i + 2]));
  var view, picked = -1, waiting = false, times = 1;
  function look(turn, tilt) { // all of the panel, as large as it fits
    view = { turn: turn, tilt: tilt, zoom: 1, x: 0, y: 0 };
    var m = matrix(), z = zooms(), lo = [9, 9], hi = [-9, -9];
    for (var i = 0; i < N; i += 3) for (var k = 0; k < 2; k++) {
      var far = 1 + (m[2] * base[3 * i] + m[5] * base[3 * i + 1] + m[8] * base[3 * i + 2]) * z[2];
      var v = (m[k] * base[3 * i] + m[3 + k] * base[3 * i + 1] + m[6 + k] * base[3 * i + 2]) * z[k] / far;
      lo[k] = Math.min(lo[k], v);
      hi[k] = Math.max(hi[k], v);
    }
    view.zoom = 1.84 / Math.max(hi[0] - lo[0], hi[1] - lo[1]);
    view.x = -view.zoom * (hi[0] + lo[0]) / 2;
    view.y = -view.zoom * (hi[1] + lo[1]) / 2;
  }

  function matrix() { // to the right, up, away; by columns
    var s = Math.sin(view.turn), c = Math.cos(view.turn), t = Math.sin(view.tilt), o = Math.cos(view.tilt);
    return [c, -t * s, -o * s, 0, o, -t, s, t * c, o * c];
  }
  function zooms() {
    var k = view.zoom / reach;
    return [k, k * canvas.clientWidth / canvas.clientHeight, 0.3 / reach];
  }
  function draw() {
    waiting = false;
    var ratio = Math.min(window.devicePixelRatio || 1, 2);
    var w = Math.round(canvas.clientWidth * ratio), h = Math.round(canvas.clientHeight * ratio);
    if (canvas.width !== w || canvas.height !== h) { canvas.width = w; canvas.height = h; }
    gl.viewport(0, 0, w, h);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    gl.uniformMatrix3fv(uTurn, false, matrix());
    gl.uniform3fv(uZoom, zooms());
    gl.uniform2f(uShift, view.x, view.y);
    gl.uniform1f(uTimes, times);
    gl.uniform1f(uDot, 0);
    gl.drawElements(gl.TRIANGLES, index.length, gl.UNSIGNED_SHORT, 0);
    if (picked >= 0) {
      gl.disable(gl.DEPTH_TEST);
      gl.uniform1f(uDot, 9 * ratio);
      gl.drawArrays(gl.POINTS, picked, 1);
      gl.enable(gl.DEPTH_TEST);
    }
  }
  function again() { if (!waiting) { waiting = true; requestAnimationFrame(draw); } }

  // The point under a place of the canvas, -1 to 1: of those near it the one closest to the eye.
  function pick(x, y) {
    var m = matrix(), z = zooms(), best = -1, nearest = Infinity, close = 0.03 * 0.03, aspect = canvas.clientHeight / canvas.clientWidth;
    for (var i = 0; i < N; i++) {
      var l = lift[i] * times, p = base[3 * i] + normal[3 * i] * l, q = base[3 * i + 1] + normal[3 * i + 1] * l, s = base[3 * i + 2] + normal[3 * i + 2] * l;
      var away = m[2] * p + m[5] * q + m[8] * s, far = 1 + away * z[2];
      var dx = (m[0] * p + m[3] * q + m[6] * s) * z[0] / far + view.x - x, dy = ((m[1] * p + m[4] * q + m[7] * s) * z[1] / far + view.y - y) * aspect;
      var miss = dx * dx + dy * dy;
      if (miss < close && away + 4000 * miss * reach < nearest) { nearest = away + 4000 * miss * reach; best = i; }
    }
    return best;
  }
  var says = box.querySelector("output");
  function number(v, digits) { return v.toFixed(digits).replace("-", "\u2212"); }
  function upward(v) { return (Math.ceil(v * 100 - 1e-6) / 100).toFixed(2); }
  function tell(i) {
    picked = i;
    if (i < 0) { says.textContent = "There is no skin here."; again(); return; }
    var c = i % C, where = (c < d.upper ? "Upper skin" : "Lower skin") + ", " + d.x_mm[c].toFixed(0) + " mm aft, station " + d.station_mm[(i - c) / C].toFixed(0) + " mm: ";
    if (!seen(i)) says.textContent = where + "not seen.";
    else says.textContent = where + (departure[i] > 0 ? "+" : "") + number(departure[i] / 1000, 2) + " \u00b1 " + upward(u[i] / 1000) + " mm";
    again();
  }

  var held = new Map(), moved = 0, spread = 0;
  function spot(e) { var b = canvas.getBoundingClientRect(); return [2 * (e.clientX - b.left) / b.width - 1, 1 - 2 * (e.clientY - b.top) / b.height]; }
  function span() { var p = Array.from(held.values()); return p.length < 2 ? 0 : Math.hypot(p[0][0] - p[1][0], p[0][1] - p[1][1]); }
  function nearer(k) { view.zoom = Math.max(0.5, Math.min(20, view.zoom * k)); again(); }
  canvas.addEventListener("pointerdown", function (e) {
    canvas.setPointerCapture(e.pointerId);
    held.set(e.pointerId, spot(e));
    moved = held.size > 1 ? 1 : 0;
    spread = span();
  });
  canvas.addEventListener("pointermove", function (e) {
    if (!held.has(e.pointerId)) return;
    var was = held.get(e.pointerId), is = spot(e), dx = is[0] - was[0], dy = is[1] - was[1];
    held.set(e.pointerId, is);
    moved += Math.abs(dx) + Math.abs(dy);
    if (held.size === 1 && !e.shiftKey) { view.turn -= 1.6 * dx; view.tilt = Math.max(-1.57, Math.min(1.57, view.tilt - 1.2 * dy)); }
    else { view.x += dx / held.size; view.y += dy / held.size; }
    if (held.size === 2 && spread > 0) { var now = span(); nearer(now / spread); spread = now; }
    again();
  });
  function let_go(e) {
    if (held.has(e.pointerId) && moved < 0.03 && e.type === "pointerup") { var p = spot(e); tell(pick(p[0], p[1])); }
    held.delete(e.pointerId);
    spread = span();
  }
  canvas.addEventListener("pointerup", let_go);
  canvas.addEventListener("pointercancel", let_go);
  canvas.addEventListener("wheel", function (e) {
    if (document.activeElement !== canvas && !e.ctrlKey) return; // else the page could not be scrolled past it
    e.preventDefault();
    nearer(Math.exp(-e.deltaY * 0.0015));
  }, { passive: false });
  canvas.addEventListener("keydown", function (e) {
    var step = 0.12, used = true;
    if (e.key === "ArrowLeft") view.turn += step;
    else if (e.key === "ArrowRight") view.turn -= step;
    else if (e.key === "ArrowUp") view.tilt = Math.max(-1.57, view.tilt - step);
    else if (e.key === "ArrowDown") view.tilt = Math.min(1.57, view.tilt + step);
    else if (e.key === "+" || e.key === "=") nearer(1.2);
    else if (e.key === "-") nearer(1 / 1.2);
    else if (e.key === "Enter" || e.key === " ") tell(pick(0, 0));
    else used = false;
    if (used) { e.preventDefault(); again(); }
  });
  box.querySelectorAll("button[data-look]").forEach(function (b) {
    b.addEventListener("click", function () {
      var ways = { above: [0, 1.57], below: [0, -1.57], tip: [0, 0] };
      look.apply(null, ways[b.getAttribute("data-look")] || [d.turn, d.tilt]);
      again();
    });
  });
  box.querySelector("select").addEventListener("change", function (e) { times = Number(e.target.value); again(); });
  window.addEventListener("resize", again);
  canvas.addEventListener("webglcontextlost", function () { box.classList.remove("live"); });
  box.classList.add("live");
  look(d.turn, d.tilt);
  draw();
})();
