// The view: the bed in three dimensions, drawn only when something has changed.
//
// Frame as everywhere in bedmodel: X across, Y from head to foot, Z up, millimetres.
// Below, "three" is the library (see ../vendor), "piece" an entry of data.pieces.
"use strict";

const bedView = (function () {
  const START = { azimuth: 58, elevation: 24 };
  const FIELD = 24; // angle of view, degrees
  const STEPS = 65535;
  const TURN = 350; // ms that a change of view takes
  const CLICK = 5; // a pointer that moved less than this has clicked (pixels)

  // Growth rings round a pith that runs a little askew of the part's length, as in the
  // still picture; what is finer than a pixel is left out, or it would shimmer.
  const GRAIN_HEAD = `
    varying vec3 vPart;
    uniform vec4 chance;
    uniform float contrast;
    float rings(vec3 p) {
      float sway = sin(p.x / 260.0 + 6.28 * chance.x) + 0.4 * sin(p.x / 71.0 + 6.28 * chance.y);
      float y = p.y - 40.0 - 90.0 * chance.z - p.x * (chance.w - 0.5) * 0.03 - 4.0 * sway;
      float z = p.z + 25.0 + 60.0 * chance.w;
      return length(vec2(y, z)) / 9.0 + 0.25 * sway;
    }`;
  const GRAIN = `
    float ring = rings(vPart);
    float fine = clamp(1.0 - fwidth(ring) * 1.6, 0.0, 1.0);
    float wave = 0.5 + 0.5 * sin(6.2832 * ring);
    diffuseColor.rgb *= 1.0 + contrast * fine * (0.4 - wave * wave);`;

  function numbers(text, Kind) {
    const raw = atob(text);
    const bytes = new Uint8Array(raw.length);
    for (let i = 0; i < raw.length; i += 1) bytes[i] = raw.charCodeAt(i);
    return new Kind(bytes.buffer);
  }

  function geometryOf(form) {
    const steps = numbers(form.corners, Uint16Array);
    const short = numbers(form.normals, Int8Array);
    const corners = new Float32Array(steps.length);
    const normals = new Float32Array(short.length);
    for (let i = 0; i < steps.length; i += 1) {
      corners[i] = form.low[i % 3] + (steps[i] / STEPS) * form.size[i % 3];
      normals[i] = short[i] / 127;
    }
    const Index = form.wide ? Uint32Array : Uint16Array;
    const points = new THREE.BufferAttribute(corners, 3);
    const faces = new THREE.BufferGeometry();
    faces.setAttribute("position", points);
    faces.setAttribute("normal", new THREE.BufferAttribute(normals, 3));
    faces.setIndex(new THREE.BufferAttribute(numbers(form.triangles, Index), 1));
    faces.computeBoundingSphere();
    const [lines, soft] = [form.edges, form.soft].map((text) => {
      const found = new THREE.BufferGeometry();
      found.setAttribute("position", points);
      found.setIndex(new THREE.BufferAttribute(numbers(text, Index), 1));
      found.boundingSphere = faces.boundingSphere;
      return found;
    });
    return { faces, lines, soft };
  }

  // A fixed draw for each piece, so that no two boards are of one tone.
  function chances(seed) {
    let state = (seed * 2654435761 + 12345) >>> 0;
    return [0, 1, 2, 3].map(() => {
      state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
      return state / 4294967296;
    });
  }

  function materialOf(kind, number) {
    const chance = chances(number + 1);
    const colour = new THREE.Color(kind.colour);
    if (!kind.metal) colour.multiplyScalar(0.95 + 0.1 * chance[0]);
    const material = new THREE.MeshLambertMaterial({
      color: colour, polygonOffset: true, polygonOffsetFactor: 1.2, polygonOffsetUnits: 1.5,
    });
    // Metal is drawn by the same program without its rings: one program less to make.
    const rings = { value: kind.metal ? 0 : 0.13 };
    material.onBeforeCompile = (shader) => {
      shader.uniforms.chance = { value: chance };
      shader.uniforms.contrast = rings;
      shader.vertexShader = "varying vec3 vPart;\n" + shader.vertexShader.replace(
        "#include <begin_vertex>", "#include <begin_vertex>\nvPart = position;");
      shader.fragmentShader = GRAIN_HEAD + "\n" + shader.fragmentShader.replace(
        "#include <color_fragment>", "#include <color_fragment>" + GRAIN);
    };
    material.customProgramCacheKey = () => "wood";
    return material;
  }

  function cornersOf(box) {
    const out = [];
    for (let i = 0; i < 8; i += 1) {
      out.push(new THREE.Vector3(
        box.low[0] + (i & 1 ? box.size[0] : 0),
        box.low[1] + (i & 2 ? box.size[1] : 0),
        box.low[2] + (i & 4 ? box.size[2] : 0)));
    }
    return out;
  }

  // Returns null where the browser gives no WebGL.
  function create(host, data, told) {
    let renderer;
    try {
      renderer = new THREE.WebGLRenderer({ antialias: true, alpha: true });
    } catch (error) {
      return null;
    }
    // Asking for faults would wait for every program in turn; the tests look at what is drawn.
    renderer.debug.checkShaderErrors = false;
    const still = window.matchMedia("(prefers-reduced-motion: reduce)");
    const dark = window.matchMedia("(prefers-color-scheme: dark)");
    const canvas = renderer.domElement;
    renderer.setPixelRatio(Math.min(window.devicePixelRatio || 1, 2));
    canvas.tabIndex = 0;
    canvas.setAttribute("role", "application");
    canvas.setAttribute("aria-label",
      "The bed in 3D. Arrow keys turn it, plus and minus zoom, N and P step through the parts, " +
      "H hides, A shows all, E takes apart, Escape clears.");
    host.prepend(canvas);

    const scene = new THREE.Scene();
    const camera = new THREE.PerspectiveCamera(FIELD, 1, 10, 20000);
    camera.up.set(0, 0, 1);
    const controls = new THREE.OrbitControls(camera, canvas);
    controls.screenSpacePanning = true;
    controls.zoomToCursor = true;
    const lamp = new THREE.DirectionalLight(0xfff1dc, 2.1);
    const sky = new THREE.HemisphereLight(0xf4f8ff, 0xc8b8a4, 2.0);
    sky.position.set(0, 0, 1);
    scene.add(sky, lamp, lamp.target);

    const forms = data.kinds.map((kind) => geometryOf(kind.form));
    const inks = {};
    for (const [name, opacity] of [["plain", 1], ["soft", 0.34], ["faint", 0.22], ["lit", 1],
                                 ["through", 1]]) {
      inks[name] = new THREE.LineBasicMaterial({ transparent: opacity < 1, opacity });
      inks[name].depthWrite = opacity === 1;
    }
    inks.through.depthTest = false; // a tenon that is picked is seen inside its leg
    inks.through.transparent = true; // so that it is drawn last
    const ghost = new THREE.MeshLambertMaterial({
      transparent: true, opacity: 0.07, depthWrite: false, side: THREE.DoubleSide });
    const glasses = data.kinds.map((kind) => new THREE.MeshLambertMaterial({
      color: kind.colour, transparent: true, opacity: 0.3, depthWrite: false,
      side: THREE.DoubleSide }));
    const pieces = data.pieces.map((piece, number) => {
      const kind = data.kinds[piece.kind];
      const place = new THREE.Group();
      place.matrixAutoUpdate = false;
      const skin = materialOf(kind, number);
      const mesh = new THREE.Mesh(forms[piece.kind].faces, skin);
      const line = new THREE.LineSegments(forms[piece.kind].lines, inks.plain);
      const soft = new THREE.LineSegments(forms[piece.kind].soft, inks.soft);
      mesh.userData.number = number;
      place.add(mesh, line, soft);
      scene.add(place);
      const matrix = new THREE.Matrix4().fromArray(piece.place);
      const away = new THREE.Vector3().fromArray(piece.apart);
      const corners = cornersOf(kind.form).map((corner) => corner.applyMatrix4(matrix));
      return { place, mesh, line, glass: glasses[piece.kind], soft, skin, own: skin.color.clone(), matrix, away, corners };
    });
    const accent = new THREE.Color();
    const state = { apart: 0, hidden: new Set(), lit: null, glass: new Set(), picked: new Set(), fits: true,
                    mattress: false, shown: false };

    // --- floor shade and mattress ---------------------------------------------------------

    const shade = floorShade();
    scene.add(shade);
    const mattress = mattressBox();
    scene.add(mattress);

    function floorShade() {
      // Drawn small and spread wide: that is what makes it soft.
      const all = pieces.flatMap((piece) => piece.corners);
      const reach = 420;
      const low = [0, 1].map((i) => Math.min(...all.map((c) => c.getComponent(i))) - reach);
      const high = [0, 1].map((i) => Math.max(...all.map((c) => c.getComponent(i))) + reach);
      const small = document.createElement("canvas");
      small.width = 40;
      small.height = Math.round((40 * (high[1] - low[1])) / (high[0] - low[0]));
      const scale = small.width / (high[0] - low[0]);
      const draw = small.getContext("2d");
      for (const piece of pieces) {
        const floor = Math.min(...piece.corners.map((c) => c.z));
        const xs = piece.corners.map((c) => (c.x - low[0]) * scale);
        const ys = piece.corners.map((c) => (high[1] - c.y) * scale);
        const box = [Math.min(...xs), Math.min(...ys)];
        draw.fillStyle = `rgba(0,0,0,${(0.34 / (1 + floor / 160)).toFixed(3)})`;
        draw.fillRect(box[0] - 0.4, box[1] - 0.4,
                      Math.max(...xs) - box[0] + 0.8, Math.max(...ys) - box[1] + 0.8);
      }
      const soft = document.createElement("canvas");
      soft.width = small.width;
      soft.height = small.height;
      const spread = soft.getContext("2d");
      spread.globalAlpha = 1 / 9;
      for (let x = -2; x <= 2; x += 1) for (let y = -2; y <= 2; y += 1) {
        if (Math.abs(x) + Math.abs(y) <= 2) spread.drawImage(small, x, y);
      }
      const material = new THREE.MeshBasicMaterial({
        map: new THREE.CanvasTexture(soft), transparent: true, depthWrite: false });
      const plane = new THREE.Mesh(
        new THREE.PlaneGeometry(high[0] - low[0], high[1] - low[1]), material);
      plane.position.set((low[0] + high[0]) / 2, (low[1] + high[1]) / 2, -1);
      plane.renderOrder = -1;
      return plane;
    }

    function mattressBox() {
      if (!data.mattress) return new THREE.Group();
      const { corners, low, high } = data.mattress;
      const points = [low, high].flatMap((z) => corners.map((c) => [c[0], c[1], z]));
      const quads = [[3, 2, 1, 0], [4, 5, 6, 7], [0, 1, 5, 4], [1, 2, 6, 5], [2, 3, 7, 6],
                     [3, 0, 4, 7]];
      const flat = quads.flatMap(([a, b, c, d]) => [a, b, c, a, c, d].flatMap((i) => points[i]));
      const geometry = new THREE.BufferGeometry();
      geometry.setAttribute("position", new THREE.Float32BufferAttribute(flat, 3));
      geometry.computeVertexNormals();
      const group = new THREE.Group();
      const skin = new THREE.MeshLambertMaterial({
        color: 0xdfe4e6, transparent: true, opacity: 0.6, depthWrite: false });
      group.add(new THREE.Mesh(geometry, skin),
                new THREE.LineSegments(new THREE.EdgesGeometry(geometry), inks.faint));
      group.visible = false;
      return group;
    }

    // --- looks ----------------------------------------------------------------------------

    function ink() {
      const style = getComputedStyle(document.documentElement);
      const read = (name) => style.getPropertyValue(name).trim();
      for (const name of ["plain", "soft", "faint"]) inks[name].color.set(read("--edge"));
      for (const name of ["lit", "through"]) inks[name].color.set(read("--accent"));
      accent.set(read("--accent"));
      shade.material.opacity = dark.matches ? 0.8 : 1;
      paint();
    }

    function paint() {
      pieces.forEach((piece, number) => {
        const shown = !state.hidden.has(number);
        const lit = state.picked.has(number) || (state.lit !== null && state.lit.has(number));
        const pale = state.lit !== null && !state.lit.has(number) && !state.picked.has(number);
        piece.place.visible = shown;
        const clear = lit && state.glass.has(number);
        piece.mesh.material = pale ? ghost : clear ? piece.glass : piece.skin;
        piece.mesh.renderOrder = pale ? 2 : clear ? 1 : 0;
        piece.line.material = pale ? inks.faint : state.picked.has(number) ? inks.through
          : lit ? inks.lit : inks.plain;
        piece.soft.visible = !pale;
        piece.soft.material = state.picked.has(number) ? inks.through : inks.soft;
        piece.skin.color.copy(piece.own);
        const picked = state.picked.has(number);
        if (picked) piece.skin.color.lerp(accent, 0.75);
        piece.skin.emissive.copy(accent).multiplyScalar(picked ? 0.25 : 0);
        piece.faint = pale;
      });
      mattress.visible = state.mattress || state.litMattress === true;
      redraw();
    }

    // --- drawing --------------------------------------------------------------------------

    let asked = false;
    function redraw() {
      if (asked) return;
      asked = true;
      requestAnimationFrame(draw);
    }

    function draw() {
      asked = false;
      if (moving) moving();
      const middle = new THREE.Vector3();
      const reach = radius(middle);
      const far = camera.position.distanceTo(middle);
      // As tight as the scene allows, or edges behind a face shine through it.
      camera.near = Math.max(far - reach * 1.05, reach / 200);
      camera.far = far + reach * 1.05 + 500;
      camera.updateProjectionMatrix();
      const right = new THREE.Vector3().setFromMatrixColumn(camera.matrixWorld, 0);
      lamp.position.copy(camera.position).addScaledVector(right, -0.55 * far);
      lamp.position.z += 0.75 * far;
      lamp.target.position.copy(controls.target);
      shade.material.opacity = (dark.matches ? 0.8 : 1) * Math.max(0, 1 - 2.5 * state.apart);
      renderer.render(scene, camera);
      told.drawn();
    }

    function radius(middle) {
      const low = new THREE.Vector3(Infinity, Infinity, Infinity);
      const high = new THREE.Vector3(-Infinity, -Infinity, -Infinity);
      for (const corner of corners()) {
        low.min(corner);
        high.max(corner);
      }
      middle.addVectors(low, high).multiplyScalar(0.5);
      return low.distanceTo(high) / 2 + 50;
    }

    function corners(only) {
      const out = [];
      pieces.forEach((piece, number) => {
        if (only && !only.has(number)) return;
        for (const corner of piece.corners) {
          out.push(corner.clone().addScaledVector(piece.away, state.apart));
        }
      });
      if (!only && mattress.visible) {
        const { corners: flat, high } = data.mattress;
        for (const c of flat) out.push(new THREE.Vector3(c[0], c[1], high));
      }
      return out;
    }

    // --- camera ---------------------------------------------------------------------------

    let moving = null;

    function direction(azimuth, elevation) {
      const a = (azimuth * Math.PI) / 180;
      const e = (elevation * Math.PI) / 180;
      return new THREE.Vector3(
        Math.cos(a) * Math.cos(e), Math.sin(a) * Math.cos(e), Math.sin(e));
    }

    // Where to stand, looking along minus ``way``, so that all the points are in sight.
    function fitted(way, points) {
      const right = new THREE.Vector3().crossVectors(camera.up, way).normalize();
      const up = new THREE.Vector3().crossVectors(way, right);
      const tall = Math.tan((FIELD * Math.PI) / 360);
      const wide = tall * camera.aspect;
      const seen = points.map((p) => [p.dot(right), p.dot(up), p.dot(way)]);
      const span = (i) => [Math.min(...seen.map((s) => s[i])), Math.max(...seen.map((s) => s[i]))];
      let [x, y, z] = [0, 1, 2].map((i) => (span(i)[0] + span(i)[1]) / 2);
      let stand = 0;
      for (let turn = 0; turn < 4; turn += 1) {
        const need = (k, at, slope) => Math.max(...seen.map(
          (s) => s[2] + Math.abs(s[k] - at) / slope));
        stand = Math.max(need(0, x, wide), need(1, y, tall));
        // Then the middle of what is seen goes to the middle of the view.
        const middle = (k, at, slope) => {
          const places = seen.map((s) => (s[k] - at) / ((stand - s[2]) * slope));
          return at + ((Math.max(...places) + Math.min(...places)) / 2) * (stand - z) * slope;
        };
        x = middle(0, x, wide);
        y = middle(1, y, tall);
      }
      const target = new THREE.Vector3()
        .addScaledVector(right, x).addScaledVector(up, y).addScaledVector(way, z);
      const distance = (stand - z) * 1.08;
      return { target, position: target.clone().addScaledVector(way, distance) };
    }

    function go(to, at_once) {
      if (at_once || still.matches) {
        moving = null;
        camera.position.copy(to.position);
        controls.target.copy(to.target);
        controls.update();
        redraw();
        return;
      }
      const from = { position: camera.position.clone(), target: controls.target.clone() };
      const around = (p) => {
        const d = p.position.clone().sub(p.target);
        return { far: d.length(), azimuth: Math.atan2(d.y, d.x),
                 elevation: Math.asin(Math.max(-1, Math.min(1, d.z / d.length()))) };
      };
      const [a, b] = [around(from), around(to)];
      let turn = b.azimuth - a.azimuth;
      if (Math.abs(b.elevation) > 1.55) turn = 0;
      turn -= 2 * Math.PI * Math.round(turn / (2 * Math.PI));
      const start = performance.now();
      moving = () => {
        const share = Math.min(1, (performance.now() - start) / TURN);
        const s = share * share * (3 - 2 * share);
        const far = a.far + (b.far - a.far) * s;
        const azimuth = a.azimuth + turn * s;
        const elevation = a.elevation + (b.elevation - a.elevation) * s;
        controls.target.lerpVectors(from.target, to.target, s);
        camera.position.copy(controls.target).add(direction(
          (azimuth * 180) / Math.PI, (elevation * 180) / Math.PI).multiplyScalar(far));
        if (share === 1) {
          moving = null;
          camera.position.copy(to.position);
        }
        controls.update();
        redraw();
      };
      redraw();
    }

    function way() {
      return camera.position.clone().sub(controls.target).normalize();
    }

    function look(azimuth, elevation, at_once) {
      state.fits = true;
      go(fitted(direction(azimuth, elevation), corners()), at_once);
    }

    function refit(at_once) {
      if (state.fits) go(fitted(way(), corners()), at_once);
    }

    function turn(by, up) {
      moving = null;
      const d = camera.position.clone().sub(controls.target);
      const far = d.length();
      const azimuth = (Math.atan2(d.y, d.x) * 180) / Math.PI + by;
      const elevation = (Math.asin(d.z / far) * 180) / Math.PI + up;
      camera.position.copy(controls.target).add(
        direction(azimuth, Math.max(-89, Math.min(89, elevation))).multiplyScalar(far));
      controls.update();
      redraw();
    }

    function zoom(factor) {
      moving = null;
      state.fits = false;
      const d = camera.position.clone().sub(controls.target).multiplyScalar(factor);
      camera.position.copy(controls.target).add(d);
      controls.update();
      redraw();
    }

    function slide(x, y) {
      state.fits = false;
      const step = camera.position.distanceTo(controls.target) * 0.05;
      const by = new THREE.Vector3().setFromMatrixColumn(camera.matrixWorld, 0)
        .multiplyScalar(x * step)
        .addScaledVector(new THREE.Vector3().setFromMatrixColumn(camera.matrixWorld, 1), y * step);
      camera.position.add(by);
      controls.target.add(by);
      controls.update();
      redraw();
    }

    controls.addEventListener("change", redraw);
    controls.addEventListener("start", () => { moving = null; });
    // The wheel turns the page until the view was clicked; so nobody gets stuck on it.
    host.addEventListener("wheel", (event) => {
      if (document.activeElement !== canvas) event.stopImmediatePropagation();
      else state.fits = false;
    }, { capture: true });

    // Each piece at its place, moved by a share of the way it goes when taken apart.
    function takeApart(share) {
      state.apart = share;
      for (const piece of pieces) {
        piece.place.matrix.copy(piece.matrix);
        piece.place.matrix.elements[12] += piece.away.x * share;
        piece.place.matrix.elements[13] += piece.away.y * share;
        piece.place.matrix.elements[14] += piece.away.z * share;
        piece.place.matrixWorldNeedsUpdate = true;
      }
    }

    // --- pointer --------------------------------------------------------------------------

    const ray = new THREE.Raycaster();
    function under(event) {
      const box = canvas.getBoundingClientRect();
      const at = new THREE.Vector2(
        ((event.clientX - box.left) / box.width) * 2 - 1,
        1 - ((event.clientY - box.top) / box.height) * 2);
      ray.setFromCamera(at, camera);
      const open = pieces.filter((piece) => piece.place.visible && !piece.faint);
      const hits = ray.intersectObjects(open.map((piece) => piece.mesh), false);
      return hits.length ? hits[0].object.userData.number : null;
    }

    let pressed = null;
    canvas.addEventListener("pointerdown", (event) => {
      pressed = event.isPrimary ? [event.clientX, event.clientY] : null;
    });
    canvas.addEventListener("pointerup", (event) => {
      if (!pressed || !event.isPrimary || event.button > 0) return;
      const moved = Math.hypot(event.clientX - pressed[0], event.clientY - pressed[1]);
      pressed = null;
      if (moved < CLICK) told.clicked(under(event));
    });
    let hover = null;
    canvas.addEventListener("pointermove", (event) => {
      if (event.pointerType !== "mouse" || event.buttons) return;
      if (hover === null) requestAnimationFrame(() => {
        const found = under(hover);
        hover = null;
        canvas.style.cursor = found === null ? "grab" : "pointer";
        told.hovered(found);
      });
      hover = event;
    });
    canvas.addEventListener("pointerleave", () => told.hovered(null));

    // --- size, light and dark -------------------------------------------------------------

    function measure() {
      const box = host.getBoundingClientRect();
      if (box.width < 2 || box.height < 2) return;
      renderer.setSize(box.width, box.height);
      camera.aspect = box.width / box.height;
      camera.updateProjectionMatrix();
      if (state.shown) refit(true);
      redraw();
    }
    new ResizeObserver(measure).observe(host);
    dark.addEventListener("change", ink);
    takeApart(0);
    measure();
    ink();
    look(START.azimuth, START.elevation, true);
    state.shown = true;

    return {
      canvas,
      look,
      start: (at_once) => look(START.azimuth, START.elevation, at_once),
      turn,
      zoom,
      slide,
      near: (numbers) => {
        state.fits = false;
        go(fitted(way(), corners(new Set(numbers))));
      },
      apart: (share) => { takeApart(share); refit(true); redraw(); },
      hide: (numbers) => { state.hidden = new Set(numbers); paint(); },
      pick: (numbers) => { state.picked = new Set(numbers); paint(); },
      light: (numbers, box, glass) => {
        state.glass = new Set(glass);
        state.lit = numbers === null ? null : new Set(numbers);
        state.litMattress = box === true;
        paint();
        if (box && state.fits) refit();
      },
      mattress: (on) => { state.mattress = on; paint(); refit(); },
      // Where the camera stands, what it looks at, and whether it fits itself to the bed.
      stand: () => [...camera.position.toArray(), ...controls.target.toArray(), state.fits],
      standAt: (found) => {
        moving = null;
        state.fits = found[6];
        camera.position.fromArray(found, 0);
        controls.target.fromArray(found, 3);
        controls.update();
        redraw();
      },
      // Where a place of the bed is seen, in pixels from the view's top left corner.
      seen: (spot) => {
        const piece = pieces[spot[3]];
        const at = new THREE.Vector3(spot[0], spot[1], spot[2])
          .addScaledVector(piece.away, state.apart).project(camera);
        const box = canvas.getBoundingClientRect();
        return [((at.x + 1) / 2) * box.width, ((1 - at.y) / 2) * box.height];
      },
    };
  }

  return { create };
})();
