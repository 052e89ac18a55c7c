// The intake by keyboard: Enter goes on to the next field at once, so that nothing that is
// typed meanwhile is lost. Without script the program itself goes on, page by page.

const TURN = ["instrument", "serial", "maker", "model", "customer", "contact", "complaint", "condition"];

const form = document.querySelector("form.intake");

const enters = (e) =>
  e.key === "Enter" && TURN.includes(e.target.name) && !e.isComposing && !e.altKey && !e.ctrlKey && !e.metaKey && !e.shiftKey;

form?.addEventListener("keydown", (e) => {
  if (!enters(e)) return;
  e.preventDefault();
  if (e.target.name === "instrument" && !e.target.value) return; // nothing is known without it
  const next = form.elements[TURN[TURN.indexOf(e.target.name) + 1]];
  if (next) next.focus();
  else form.requestSubmit(form.querySelector("button.main"));
});

// The press that belongs to a key that moved the focus is of the next field, and sends nothing.
form?.addEventListener("keypress", (e) => {
  if (enters(e)) e.preventDefault();
});
