// The page's own doings: the list of parts, the card of the one chosen, buttons and keys.
"use strict";

(function () {
  const data = JSON.parse(document.getElementById("bed-data").textContent);
  const root = document.documentElement;
  const [stage, host, tools, side, caption] =
    ["stage", "view", "tools", "parts", "caption"].map((id) => document.getElementById(id));
  const narrow = window.matchMedia("(max-width: 820px)");
  const still = window.matchMedia("(prefers-reduced-motion: reduce)");
  const state = { picked: null, hidden: new Set(), apart: 0, shown: null };
  const kindsOf = data.kinds.map(() => []);
  data.pieces.forEach((piece, number) => kindsOf[piece.kind].push(number));

  // Elements are made of text only: nothing from the sheet is read as HTML.
  function make(tag, attributes, ...children) {
    const element = document.createElement(tag);
    for (const [name, value] of Object.entries(attributes || {})) {
      if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
      else if (value === true) element.setAttribute(name, "");
      else if (value !== false && value !== null) element.setAttribute(name, value);
    }
    element.append(...children.filter((child) => child !== null));
    return element;
  }

  root.classList.add("scripted");
  const pins = make("div", { class: "pins", "aria-hidden": "true" });
  host.append(pins);
  const view = bedView.create(host, data, {
    clicked: (number) => pick(number, false),
    hovered: (number) => {
      if (state.shown === null) say(number === null ? standing() : data.pieces[number].title);
    },
    drawn: () => {
      placePins();
      if (!stage.dataset.ready) stage.dataset.ready = String(Math.round(performance.now()));
    },
  });
  if (view) {
    root.classList.add("in3d");
    tools.hidden = false;
  } else {
    for (const note of document.querySelectorAll("p.no3d")) note.hidden = false;
    stage.dataset.ready = "none";
  }

  function say(text) { caption.textContent = text || ""; }
  function standing() {
    if (state.shown !== null) return state.shown.title;
    if (state.picked !== null) return data.pieces[state.picked].title;
    return "";
  }

  // --- places lit up ----------------------------------------------------------------------

  let spots = [];
  function setPins(found) {
    spots = found.length > 60 ? [] : found;
    pins.replaceChildren(...spots.map(() => make("i", {})));
    placePins();
  }
  function placePins() {
    if (!view) return;
    spots.forEach((spot, i) => {
      const [x, y] = view.seen(spot);
      pins.children[i].style.transform = `translate(${x.toFixed(1)}px, ${y.toFixed(1)}px)`;
    });
  }

  function show(found) {
    state.shown = found;
    stage.dataset.shown = found ? found.title : "";
    if (view) {
      const numbers = found && found.pieces.length ? found.pieces : found ? [] : null;
      // A check of all the parts pales none of them.
      const all = found && (numbers.length === data.pieces.length || found.mattress);
      view.light(all ? null : numbers, found ? found.mattress : false, found ? found.glass : []);
      setPins(found ? found.spots : []);
    }
    clear.hidden = !found;
    say(standing());
  }

  function toView() {
    const top = stage.getBoundingClientRect().top;
    if (view && (top < 0 || top > window.innerHeight / 3)) {
      stage.scrollIntoView({ behavior: still.matches ? "auto" : "smooth", block: "start" });
    }
  }

  // Buttons of the sections below the view; again where those were filled in later.
  function wire(where) {
    for (const button of where.querySelectorAll("button.see[data-show]")) {
      button.addEventListener("click", () => {
        pick(null, false);
        show(data.shows[button.dataset.show]);
        toView();
      });
    }
    for (const drawn of where.querySelectorAll("g.cut")) {
      drawn.addEventListener("click", () => {
        const number = data.pieces.findIndex((p) => data.kinds[p.kind].item === drawn.dataset.item);
        if (number >= 0) { pick(number, false); toView(); }
      });
    }
  }
  wire(document);

  // --- what is hidden ---------------------------------------------------------------------

  function hide(numbers, hidden) {
    for (const number of numbers) {
      if (hidden) state.hidden.add(number);
      else state.hidden.delete(number);
    }
    if (view) view.hide(state.hidden);
    stage.dataset.hidden = String(state.hidden.size);
    for (const box of boxes) box.update();
    showAll.hidden = state.hidden.size === 0;
  }

  function alone(numbers) {
    state.hidden = new Set(data.pieces.keys());
    hide(numbers, false);
  }

  const boxes = [];
  function sightBox(numbers, title) {
    const input = make("input", { type: "checkbox", "aria-label": `Show ${title}` });
    input.checked = true;
    input.addEventListener("change", () => hide(numbers, !input.checked));
    boxes.push({
      update: () => {
        const hidden = numbers.filter((number) => state.hidden.has(number)).length;
        input.checked = hidden < numbers.length;
        input.indeterminate = hidden > 0 && hidden < numbers.length;
      },
    });
    return input;
  }

  // --- the list of parts ------------------------------------------------------------------

  const rows = new Map();
  const list = make("div", { class: "list" });
  const card = make("div", { class: "card", "aria-live": "polite", tabindex: "-1" });
  card.hidden = true;
  for (const group of data.groups) {
    const inside = [...data.pieces.keys()].filter((n) => data.pieces[n].group === group.key);
    const kinds = [...new Set(inside.map((number) => data.pieces[number].kind))];
    const entries = kinds.map((kind) => {
      const numbers = inside.filter((number) => data.pieces[number].kind === kind);
      const told = data.kinds[kind];
      const swatch = make("span", { class: "swatch", "aria-hidden": "true" });
      swatch.style.background = told.colour;
      const button = make("button", { type: "button", "aria-pressed": "false",
        onclick: () => pick(numbers.includes(state.picked) ? null : numbers[0], true) },
        swatch,
        make("span", { class: "called" }, told.title),
        make("span", { class: "many" }, numbers.length > 1 ? `× ${numbers.length}` : ""),
        make("span", { class: "size" }, told.size));
      for (const number of numbers) rows.set(number, button);
      return make("li", {}, view ? sightBox(numbers, told.title) : null, button);
    });
    list.append(make("section", {},
      make("h3", {}, view ? sightBox(inside, group.title) : null, group.title),
      make("ul", {}, ...entries)));
  }
  side.append(card, make("h2", {}, "Parts"), list);

  // --- one part ---------------------------------------------------------------------------

  function pick(number, fromList) {
    if (state.picked !== null) rows.get(state.picked).setAttribute("aria-pressed", "false");
    state.picked = number;
    if (number !== null) {
      const row = rows.get(number);
      row.setAttribute("aria-pressed", "true");
      if (!fromList && !narrow.matches) row.scrollIntoView({ block: "nearest" });
    }
    if (state.shown !== null) show(null);
    if (view) view.pick(number === null ? [] : [number]);
    stage.dataset.picked = number === null ? "" : data.pieces[number].name;
    tell(number);
    say(standing());
  }

  function step(by) {
    const count = data.pieces.length;
    let at = state.picked === null ? (by > 0 ? -1 : count) : state.picked;
    for (let i = 0; i < count; i += 1) {
      at = (at + by + count) % count;
      if (!state.hidden.has(at)) { pick(at, false); return; }
    }
  }

  function tell(number) {
    card.hidden = number === null;
    if (number === null) { card.replaceChildren(); return; }
    const piece = data.pieces[number];
    const kind = data.kinds[piece.kind];
    const alike = kindsOf[piece.kind];
    const close = make("button", { type: "button", class: "close", "aria-label": "Close",
      onclick: () => pick(null, true) }, "×");
    card.replaceChildren(...[
      close,
      make("h3", {}, piece.title),
      facts([
        [data.mattress ? "Finished" : "Size", kind.size],
        ["Of", `${kind.stuff}, ${kind.mass}`],
        alike.length > 1 ? ["Alike", alikeRow(number, alike)] : null,
        !data.mattress ? null : ["Cut list", kind.row === null ? "bought, not cut"
          : make("a", { href: `#cut-${kind.row}` }, `row ${kind.row}`)],
        kind.boards.length ? ["Out of", boardLinks(kind.boards)] : null,
      ]),
      view ? make("p", { class: "does" },
        make("button", { type: "button", onclick: () => view.near([number]) }, "Zoom to"),
        make("button", { type: "button", onclick: () => { alone([number]); view.near([number]); } },
          "Alone"),
        make("button", { type: "button", onclick: () => hide([number], true) }, "Hide")) : null,
      joints(number),
      marks(kind),
      kind.files.length ? make("p", { class: "beside" }, "Files: ",
        ...kind.files.flatMap(([path, what], i) => [i ? ", " : "", make("a", { href: path }, what)]))
        : null,
    ].filter(Boolean));
  }

  function facts(pairs) {
    return make("dl", {}, ...pairs.filter(Boolean).flatMap(
      ([name, told]) => [make("dt", {}, name), make("dd", {}, told)]));
  }

  function alikeRow(number, alike) {
    const at = alike.indexOf(number);
    const other = (by) => alike[(at + by + alike.length) % alike.length];
    return make("span", { class: "alike" },
      make("button", { type: "button", "aria-label": "The one before",
        onclick: () => pick(other(-1), true) }, "‹"),
      ` ${at + 1} of ${alike.length} `,
      make("button", { type: "button", "aria-label": "The next one",
        onclick: () => pick(other(1), true) }, "›"));
  }

  function boardLinks(names) {
    return make("span", {}, "board ", ...names.flatMap(
      (name, i) => [i ? ", " : "", make("a", { href: `#board-${name}` }, name)]));
  }

  // Joints that are alike are told once, as the seventeen slats on a runner.
  function joints(number) {
    if (!data.joints.length) return null;
    const sorts = new Map();
    for (const joint of data.joints) {
      if (!joint.pieces.includes(number)) continue;
      const key = `${joint.title}|${joint.told}`;
      if (!sorts.has(key)) sorts.set(key, []);
      sorts.get(key).push(joint);
    }
    if (!sorts.size) return make("p", { class: "none" }, "No joint of its own.");
    const entries = [...sorts.values()].map((found) => {
      const pieces = [...new Set(found.flatMap((joint) => joint.pieces))];
      // A joint's first two pieces are what it holds together, the rest are its own.
      const held = [...new Set(found.flatMap((joint) => joint.pieces.slice(0, 2)))];
      const others = held.filter((n) => n !== number).map((n) => data.pieces[n].title);
      const withWhom = others.length > 4 ? `${others.slice(0, 3).join("; ")} and ${others.length - 3} more`
        : others.join("; ");
      const lit = { title: `${found[0].title}: ${data.pieces[number].title} with ${withWhom}`,
                    pieces, spots: found.flatMap((joint) => joint.spots), mattress: false,
                    glass: [...new Set(found.flatMap((joint) => joint.glass))] };
      return make("li", {},
        make("b", {}, found.length > 1 ? `${found.length} × ${found[0].title}` : found[0].title),
        ` ${held.includes(number) ? "with" : "of"} ${withWhom}`,
        make("span", {}, found[0].told),
        view ? make("button", { type: "button", class: "see", onclick: () => show(lit),
          "aria-label": `Show in the view: ${lit.title}` }, "Show") : null);
    });
    return make("div", { class: "joined" }, make("h4", {}, "Joints"), make("ul", {}, ...entries));
  }

  function marks(kind) {
    if (!kind.marks.length && !kind.notes.length) return null;
    const tables = kind.marks.map((row) => make("table", {},
      make("caption", {}, row.from[0].toUpperCase() + row.from.slice(1)),
      make("tbody", {}, ...row.marks.map(
        ([label, shown]) => make("tr", {}, make("td", {}, label), make("td", {}, shown))))));
    return make("details", {}, make("summary", {}, "Marks to set out"), ...tables,
      ...kind.notes.map((note) => make("p", {}, note)));
  }

  // --- tools ------------------------------------------------------------------------------

  function tool(text, keys, act) {
    return make("button", { type: "button", onclick: act, title: `${text} (${keys})` }, text);
  }
  const clear = tool("Clear", "Esc", () => { show(null); pick(null, true); });
  const showAll = tool("Show all", "A", () => hide([...data.pieces.keys()], false));
  clear.hidden = true;
  showAll.hidden = true;
  const slider = make("input", { type: "range", min: "0", max: "100", value: "0", id: "apart" });
  const bedding = make("button", { type: "button", "aria-pressed": "false", title: "Mattress (M)",
    onclick: () => {
      const on = bedding.getAttribute("aria-pressed") !== "true";
      bedding.setAttribute("aria-pressed", String(on));
      view.mattress(on);
    } }, "Mattress");

  function takeApart(share) {
    state.apart = Math.max(0, Math.min(1, share));
    slider.value = String(Math.round(100 * state.apart));
    stage.dataset.apart = slider.value;
    view.apart(state.apart);
    placePins();
  }

  let running = 0;
  function glide(to) {
    cancelAnimationFrame(running);
    if (still.matches) { takeApart(to); return; }
    const [from, start] = [state.apart, performance.now()];
    const tick = () => {
      const s = Math.min(1, (performance.now() - start) / 500);
      takeApart(from + (to - from) * s * s * (3 - 2 * s));
      if (s < 1) running = requestAnimationFrame(tick);
    };
    tick();
  }

  const looks = [["Corner", 58, 24, "1"], ["Foot", 90, 4, "2"], ["Side", 0, 4, "3"],
                 ["Above", 90, 89, "4"], ["Under", 58, -28, "5"]];
  if (view) {
    slider.addEventListener("input", () => takeApart(slider.valueAsNumber / 100));
    tools.append(
      make("span", { class: "ways" }, ...looks.map(
        ([text, azimuth, elevation, key]) => tool(text, key, () => view.look(azimuth, elevation)))),
      make("label", { class: "apart", for: "apart" }, "Take apart", slider),
      data.mattress ? bedding : "", showAll, clear, keysTold());
    document.addEventListener("keydown", keyed);
  }

  function keysTold() {
    const told = [["← → ↑ ↓", "turn"], ["Shift and arrows", "move"], ["+ −", "zoom"],
      ["1 to 5", "views"], ["0", "back to the start"], ["N, P", "next part, the one before"],
      ["Z", "zoom to it"], ["H", "hide it"], ["A", "show all"], ["E", "take apart, together"],
      ...(data.mattress ? [["M", "mattress"]] : []), ["Esc", "clear"]];
    return make("details", { class: "keys" }, make("summary", {}, "Keys"),
      make("div", {},
        make("p", {}, "With the view in focus: click it, or reach it with Tab. Then the wheel zooms too."),
        make("dl", {}, ...told.flatMap(
          ([key, what]) => [make("dt", {}, key), make("dd", {}, what)]))));
  }

  const PLAIN = {
    Home: () => view.start(),
    "0": () => view.start(),
    "+": () => view.zoom(1 / 1.2),
    "=": () => view.zoom(1 / 1.2),
    "-": () => view.zoom(1.2),
    e: () => glide(state.apart > 0.5 ? 0 : 1),
    n: () => step(1),
    p: () => step(-1),
    h: () => { if (state.picked !== null) hide([state.picked], true); },
    a: () => hide([...data.pieces.keys()], false),
    m: () => { if (data.mattress) bedding.click(); },
    z: () => { if (state.picked !== null) view.near([state.picked]); },
  };
  for (const [, azimuth, elevation, key] of looks) PLAIN[key] = () => view.look(azimuth, elevation);
  const ARROWS = { ArrowLeft: [-10, 0], ArrowRight: [10, 0], ArrowUp: [0, 10], ArrowDown: [0, -10] };

  function keyed(event) {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.key === "Escape") {
      if (state.shown !== null) show(null);
      else pick(null, true);
      return;
    }
    // The other keys belong to the view, and only while it has the focus.
    if (document.activeElement !== view.canvas) return;
    const arrow = ARROWS[event.key];
    const act = PLAIN[event.key.length === 1 ? event.key.toLowerCase() : event.key];
    if (arrow && event.shiftKey) view.slide(arrow[0] / 10, arrow[1] / 10);
    else if (arrow) view.turn(arrow[0], arrow[1]);
    else if (act) act();
    else return;
    event.preventDefault();
  }

  // In a notebook's frame the page has no address of its own: a link to a section would lead
  // to the notebook.
  if (location.protocol === "about:") {
    document.addEventListener("click", (event) => {
      const link = event.target.closest("a[href^='#']");
      if (!link) return;
      event.preventDefault();
      const section = document.getElementById(link.getAttribute("href").slice(1));
      if (section) section.scrollIntoView();
    });
  }

  stage.dataset.pieces = String(data.pieces.length);
  stage.dataset.hidden = "0";
  stage.dataset.apart = "0";
  // On paper, what is folded away is told too.
  window.addEventListener("beforeprint", () => {
    for (const fold of document.querySelectorAll("main > section details")) fold.open = true;
  });

  // How the bed is looked at, in words that hold for a bed with other parts too.
  function keep() {
    return {
      stand: view ? view.stand() : null,
      hidden: [...state.hidden].map((number) => data.pieces[number].name),
      picked: state.picked === null ? null : data.pieces[state.picked].name,
      apart: state.apart,
      mattress: bedding.getAttribute("aria-pressed") === "true",
    };
  }
  function restore(kept) {
    const named = new Map(data.pieces.map((piece, number) => [piece.name, number]));
    hide(kept.hidden.filter((name) => named.has(name)).map((name) => named.get(name)), true);
    if (kept.picked !== null && named.has(kept.picked)) pick(named.get(kept.picked), true);
    if (!view) return;
    if (kept.apart) takeApart(kept.apart);
    if (kept.mattress) bedding.click();
    if (kept.stand) view.standAt(kept.stand);
  }
  window.bedReport = { view, data, keep, restore, wire };
})();
