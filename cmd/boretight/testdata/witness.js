// What somebody who watches the bench's page all the time would tell: witness(JSON) is a
// binding of the test's. It runs in the page before the page's own script.
(() => {
  const tell = (kind, more) => witness(JSON.stringify({ kind, ...more }));
  const spans = []; // between isolation and vent, in ms of the page's clock

  // A browser that is starved paints rest and hold in one frame: what moved then says nothing.
  let painted = 0, starved = -Infinity;
  requestAnimationFrame(function frame(now) {
    if (now - painted > 100) starved = now;
    painted = now;
    requestAnimationFrame(frame);
  });

  new PerformanceObserver((list) => {
    for (const e of list.getEntries()) {
      if (e.hadRecentInput || e.startTime < starved + 500 || !spans.some(([from, to]) => e.startTime >= from && e.startTime <= to)) continue;
      const moved = e.sources.map(({ node, previousRect: was, currentRect: is }) =>
        `${node?.id || node?.className || node?.nodeName} "${(node?.textContent ?? "").replace(/\s+/g, " ").slice(0, 60)}" ${was.x},${was.y} ${was.width}x${was.height} to ${is.x},${is.y} ${is.width}x${is.height}`);
      if (!document.getElementById("reservation")?.textContent) tell("shift", { shift: e.value, says: moved.join("; ") });
    }
  }).observe({ type: "layout-shift", buffered: true });

  document.addEventListener("DOMContentLoaded", () => {
    if (!document.getElementById("now")) return; // not the bench's page
    const text = (id) => document.getElementById(id).textContent;
    const last = {};
    let held = false;
    const once = (kind, says, more) => {
      if (last[kind] === says) return;
      last[kind] = says;
      tell(kind, { says, ...more });
    };
    const look = () => {
      const state = text("state"), lost = document.body.classList.contains("lost");
      const busy = document.getElementById("next").inert && !lost;
      const drawing = busy && (state === "drawing" || state === "shut the valve");
      const open = spans.at(-1)?.[1] === Infinity;
      // What comes with the isolation itself is in the next frame.
      if (busy && !drawing && !held) requestAnimationFrame(() => requestAnimationFrame(() => held && spans.push([performance.now(), Infinity])));
      held = busy && !drawing;
      if (!held && open) spans.at(-1)[1] = performance.now();

      once("contact", lost ? "lost" : "here", { at: Date.now() });
      const shown = ["u", "verdict", "rule"].map(text).join("");
      if ((drawing || lost) && shown) tell("stale", { says: `${state}: ${shown}` });
      if (lost && !document.getElementById("result").hidden) tell("stale", { says: `${state}: ${text("value")}` });
      if (!lost && text("aloud")) once("aloud", text("aloud"));

      const when = text("when");
      if (when.startsWith("hold ended")) {
        once("hold", ["state", "value", "u", "unit", "interval", "verdict", "rule"].map(text).join(" | "), { of: when });
      }
      const row = document.querySelector("#holds tbody a")?.getAttribute("href"), trial = document.querySelector("#holds .trial");
      if (row && trial) once("trial", trial.textContent.replace(/\s+/g, " ").trim(), { of: row });
    };
    new MutationObserver(look).observe(document.documentElement, {
      subtree: true, childList: true, characterData: true, attributes: true, attributeFilter: ["class", "inert", "hidden"],
    });
    look();
  });
})();
