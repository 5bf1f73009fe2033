// Follows the sheet: a new bed is loaded in this one's place with the same view of it, results
// are filled in when they come, and what is wrong with the sheet stands in a line on top.
"use strict";

(function () {
  const KEY = "bedmodel-live";
  const mine = JSON.parse(document.getElementById("bed-live").textContent);
  const root = document.documentElement;
  root.dataset.version = String(mine.version);
  root.dataset.checked = String(mine.checked);

  // --- as it was left -----------------------------------------------------------------------

  const kept = sessionStorage.getItem(KEY);
  sessionStorage.removeItem(KEY);
  if (kept) {
    try {
      const { look, scroll, open } = JSON.parse(kept);
      bedReport.restore(look);
      for (const fold of document.querySelectorAll("main > section details")) {
        if (open.includes(foldName(fold))) fold.open = true;
      }
      // Once the page is laid out again.
      requestAnimationFrame(() => window.scrollTo(0, scroll));
    } catch (error) {
      console.info("the view begins anew", error);
    }
  }

  function foldName(fold) {
    return `${fold.closest("section").id} ${fold.querySelector("summary").textContent}`;
  }

  function leave() {
    const open = [...document.querySelectorAll("main > section details[open]")].map(foldName);
    sessionStorage.setItem(KEY, JSON.stringify(
      { look: bedReport.keep(), scroll: window.scrollY, open }));
    location.reload();
  }

  // --- results that come later ---------------------------------------------------------------

  async function fill() {
    const text = await (await fetch("/")).text();
    const page = new DOMParser().parseFromString(text, "text/html");
    const theirs = JSON.parse(page.getElementById("bed-live").textContent);
    if (theirs.version !== mine.version) { leave(); return; }
    if (!theirs.checked || mine.checked) return;
    const here = (selector) => document.querySelector(selector);
    for (const selector of ["header.top", "nav.links"]) {
      here(selector).replaceWith(document.adoptNode(page.querySelector(selector)));
    }
    for (const section of document.querySelectorAll("main > section")) section.remove();
    const sections = [...page.querySelectorAll("main > section")];
    here("main").append(...sections.map((section) => document.adoptNode(section)));
    bedReport.data.shows = JSON.parse(page.getElementById("bed-data").textContent).shows;
    bedReport.wire(document);
    mine.checked = true;
    root.dataset.checked = "true";
  }

  // --- what is wrong -------------------------------------------------------------------------

  const banner = document.createElement("p");
  banner.setAttribute("role", "status");
  Object.assign(banner.style, {
    position: "sticky", top: "0", zIndex: "9", margin: "0", maxWidth: "none", padding: "10px 28px",
    color: "#ffffff", background: "#8a2f1d", font: "600 15px/1.4 system-ui, sans-serif" });
  banner.hidden = true;
  document.body.prepend(banner);

  function warn(text) {
    banner.hidden = !text;
    banner.textContent = text ? `${text} — this is the last good bed` : "";
    root.dataset.problem = text;
  }

  // Checks begin when the bed is seen: until then the browser has both hands full.
  function drawn() {
    if (document.getElementById("stage").dataset.ready) fetch(`/now?drawn=${mine.version}`);
    else requestAnimationFrame(drawn);
  }
  if (!mine.checked) drawn();

  // --- news ----------------------------------------------------------------------------------

  const news = new EventSource("/news");
  news.addEventListener("message", (event) => {
    const now = JSON.parse(event.data);
    root.dataset.connected = "true";
    warn(now.problem);
    if (now.version !== mine.version) leave();
    else if (now.checked && !mine.checked) fill();
  });
  news.addEventListener("error", () => {
    root.dataset.connected = "false";
    warn("bedmodel watch has ended, or cannot be reached");
  });
})();
