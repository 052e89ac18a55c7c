// The intake by keyboard: Enter goes on to the next field at once, so that nothing that is
// typed meanwhile is lost. Without script the program itself goes on, page by page.

const TURN = ["instrument", "serial", "maker", "model", "customer", "contact", "complaint", "condition"];

const form = document.querySelector("form.intake");

form?.addEventListener("keydown", (e) => {
  const at = TURN.indexOf(e.target.name);
  if (e.key !== "Enter" || at < 0 || e.isComposing || e.altKey || e.ctrlKey || e.metaKey || e.shiftKey) return;
  e.preventDefault();
  if (e.target.name === "instrument" && !e.target.value) return; // nothing is known without it
  const next = form.elements[TURN[at + 1]];
  if (next) next.focus();
  else form.requestSubmit(form.querySelector("button.main"));
});
