// The one script of the app: when a field is left, the form is sent and the answers beside it are exchanged.
// Without it every page works by its buttons.
"use strict";

(() => {
  const form = document.getElementById("child");
  if (!form) return;
  const answers = document.getElementById("answers");
  const spoken = document.getElementById("spoken");
  // What measuring would buy is asked for when nothing was left for so long.
  const QUIET_MS = 500;
  let sending = false;
  let again = false;
  let later = 0;

  // One request at a time, the latest state last: an old answer can never overtake a new one.
  async function ask() {
    if (sending) {
      again = true;
      return;
    }
    sending = true;
    clearTimeout(later);
    answers.setAttribute("aria-busy", "true");
    try {
      do {
        again = false;
        show(await send());
      } while (again);
    } catch {
      stale();
    }
    answers.removeAttribute("aria-busy");
    sending = false;
  }

  // The rest of an answer; if a field is left meanwhile, the next answer takes its place.
  async function more() {
    try {
      const reply = await fetch(form.dataset.answer);
      const held = reply.ok ? await reply.json() : null;
      if (held && !sending) answers.innerHTML = held.answers;
    } catch {
      // The answer stands; only what measuring would buy is not said.
    }
  }

  async function send() {
    const reply = await fetch(form.dataset.answer, { method: "POST", body: new URLSearchParams(new FormData(form)) });
    if (!reply.ok) throw new Error();
    return reply.json();
  }

  function show(held) {
    answers.innerHTML = held.answers;
    spoken.textContent = held.spoken;
    if (held.more) later = setTimeout(more, QUIET_MS);
    for (const place of form.querySelectorAll(".messages")) {
      const message = held.messages[place.dataset.for] || "";
      if (bare(place.innerHTML) !== bare(message)) place.innerHTML = message;
      const field = document.getElementById("f-" + place.dataset.for);
      if (field) field.toggleAttribute("aria-invalid", message.includes("class=\"fault\""));
      if (field && field.hasAttribute("aria-invalid")) field.setAttribute("aria-invalid", "true");
    }
  }

  // A question that was just confirmed is left as it is: exchanging it would take the focus away.
  function bare(markup) {
    return markup.replace(/ checked(="")?/, "").trim();
  }

  // No answer came: the one on the page is not of these values.
  function stale() {
    const held = document.createElement("del");
    held.append(...answers.childNodes);
    const note = document.createElement("p");
    note.className = "note";
    note.textContent = "The program did not answer. What stands here is for the earlier values.";
    answers.replaceChildren(note, held);
    spoken.textContent = note.textContent;
  }

  // A number and a word for its absence exclude each other: the one that was filled last holds.
  function settle(changed) {
    const pair = changed.closest(".inputs");
    const [typed, word] = pair ? [pair.querySelector("input"), pair.querySelector("input ~ select")] : [];
    if (!typed || !word) return;
    if (changed === word && word.value) typed.value = "";
    if (changed === typed && typed.value.trim()) word.value = "";
  }

  form.addEventListener("change", (event) => {
    if (!event.target.name) return;
    settle(event.target);
    ask();
  });
})();
