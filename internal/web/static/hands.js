// What hands and feet do at the page: one key steps on, another sets the last hold aside, a
// third puts something on the bench. Which keys these are is taught by pressing them, since
// a foot switch is a keyboard with one or two keys. Nothing is done in the middle of a hold.

const KEPT = "boretight.keys";
const USUAL = { step: "PageDown", aside: "PageUp", lay: "Insert" };
const $ = (id) => document.getElementById(id);

let keys = { ...USUAL }, teaching = "", chosen = -1, stepping = false;

try {
  const kept = JSON.parse(localStorage.getItem(KEPT)) ?? {};
  for (const deed of Object.keys(USUAL)) if (typeof kept[deed] === "string") keys[deed] = kept[deed];
} catch {
  // a browser that keeps nothing, or kept something else
}

// hands wires the page. World tells what hands need to know of it: busy() whether a hold is
// under way, gauge() which is shown, say(text) what came of it, done() after a change.
export function hands(world) {
  $("keys").hidden = false;
  $("keys").onclick = () => open($("hands"));
  for (const dialog of document.querySelectorAll("dialog")) {
    dialog.addEventListener("click", (e) => {
      if (e.target.closest("[data-close]")) dialog.close();
    });
    dialog.addEventListener("close", () => (teaching = ""));
  }
  $("hands").addEventListener("click", (e) => {
    const button = e.target.closest("[data-teach]");
    if (button) teach(button.dataset.teach);
    if (e.target.closest("[data-forget]")) keep({ ...USUAL }, "The keys are as they were at first.");
  });
  $("reasons").addEventListener("click", (e) => {
    const button = e.target.closest("[data-reason]");
    if (button) reason(button.dataset.reason);
  });
  $("aside-words").addEventListener("submit", (e) => {
    e.preventDefault();
    setAside("other", $("words").value);
  });
  $("next").addEventListener("submit", (e) => {
    if (e.target.id !== "step") return;
    e.preventDefault();
    step();
  });
  $("next").addEventListener("click", (e) => {
    const button = e.target.closest("#void");
    if (!button) return;
    e.preventDefault();
    ask();
  });
  document.addEventListener("keydown", press, true);
  write();

  function press(e) {
    if (teaching) return learn(e);
    if (e.altKey || e.ctrlKey || e.metaKey || e.repeat) return;
    if ($("aside").open) return answer(e);
    if (document.querySelector("dialog[open]") || e.target.matches?.("input, textarea, select")) return;
    const deed = Object.keys(keys).find((name) => keys[name] === e.code);
    if (!deed) return;
    e.preventDefault();
    if (world.busy()) return world.say("In the middle of a hold nothing is changed: vent first.");
    if (deed === "step") step();
    else if (deed === "aside") ask();
    else $("lay")?.click();
  }

  // answer lets two foot switches alone choose a reason: the one goes on to the next, the
  // other takes it. Figures choose at once.
  function answer(e) {
    if (e.target.matches?.("input")) return;
    const buttons = [...document.querySelectorAll("#reasons button")];
    const figure = /^(?:Digit|Numpad)([1-9])$/.exec(e.code)?.[1];
    if (figure && buttons[figure - 1]) {
      e.preventDefault();
      return reason(buttons[figure - 1].dataset.reason);
    }
    if (e.code === keys.aside) {
      e.preventDefault();
      chosen = (chosen + 1) % buttons.length;
      buttons[chosen].focus();
    } else if (e.code === keys.step && chosen >= 0) {
      e.preventDefault();
      reason(buttons[chosen].dataset.reason);
    }
  }

  // step says which stage it leads to, so that a key pressed twice steps on once.
  async function step() {
    if (!$("step")) return world.say("There is nothing to step on to: put something on the bench.");
    if (stepping) return;
    stepping = true;
    await send("/bench/step", new FormData($("step")), world.say);
    stepping = false;
    world.done();
  }

  function ask() {
    const hold = $("void");
    if (!hold) return world.say("There is no hold to set aside.");
    $("aside").dataset.hold = hold.dataset.hold;
    $("aside-hold").textContent = hold.dataset.words;
    $("aside-fault").textContent = $("words").value = "";
    $("aside-words").hidden = true;
    chosen = -1;
    open($("aside"));
  }

  function reason(value) {
    if (value !== "other") return setAside(value, "");
    $("aside-words").hidden = false;
    $("words").focus();
  }

  async function setAside(value, words) {
    const hold = $("aside").dataset.hold;
    const ok = await send(`/holds/${encodeURIComponent(hold)}/void`, { reason: value, words }, (text) => ($("aside-fault").textContent = text));
    if (!ok) return;
    $("aside").close();
    world.say("The hold is set aside.");
    world.done();
  }

  // send sends a form as the page without script would, and says what was wrong with it.
  async function send(path, fields, say) {
    try {
      const answer = await fetch(path, {
        method: "POST",
        headers: { Accept: "application/json" },
        body: new URLSearchParams(fields),
      });
      if (answer.ok) return true;
      say((await answer.json()).error?.message ?? `The program answered ${answer.status}.`);
    } catch {
      say("Not done: no contact with the program.");
    }
    return false;
  }

  function learn(e) {
    if (["ShiftLeft", "ShiftRight", "ControlLeft", "ControlRight", "AltLeft", "AltRight", "MetaLeft", "MetaRight"].includes(e.code)) return;
    e.preventDefault();
    e.stopPropagation();
    const deed = teaching;
    teaching = "";
    if (e.code === "Escape") return put("taught", "Left as it was.");
    if (e.code === "Tab" || !e.code) return put("taught", "That key cannot be used: it moves between the fields. Press Teach and another one.");
    const other = Object.keys(keys).find((name) => name !== deed && keys[name] === e.code);
    if (other) return put("taught", `That key is taught already, for another thing. Teach another one.`);
    keep({ ...keys, [deed]: e.code }, `Learnt: ${named(e.code)}.`);
  }

  function teach(deed) {
    teaching = deed;
    put("taught", "Press the key or the foot switch now.");
  }

  function keep(taught, words) {
    keys = taught;
    try {
      localStorage.setItem(KEPT, JSON.stringify(keys));
    } catch {
      words += " This browser will have forgotten it when the page is loaded again.";
    }
    put("taught", words);
    write();
  }
}

// write puts the names of the keys where they count. It is called again when the next thing
// was written anew.
export function write() {
  for (const deed of Object.keys(USUAL)) {
    put("key-" + deed, named(keys[deed]));
    for (const key of document.querySelectorAll(".of-" + deed)) key.textContent = named(keys[deed]);
  }
  document.querySelectorAll("#reasons kbd").forEach((key, i) => (key.textContent = String(i + 1)));
  put("aside-keys", `${named(keys.aside)} goes through the reasons, ${named(keys.step)} takes one.`);
}

const NAMES = { PageDown: "Page Down", PageUp: "Page Up", Space: "space bar", Insert: "Insert" };
const named = (code) => NAMES[code] ?? code.replace(/^(Key|Digit)/, "").replace(/([a-z])([A-Z])/g, "$1 $2");

function open(dialog) {
  if (!dialog.open) dialog.showModal();
}

function put(id, text) {
  $(id).textContent = text;
}
