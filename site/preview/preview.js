/**
 * Added to pages by the preview alone: reloads the page when the house has changed, and shows what
 * is wrong in it. Never part of a published site.
 */

const MOST = 30;
const OPEN = "preview-open";

const style = document.createElement("link");
style.rel = "stylesheet";
style.href = "/-/preview.css";
document.head.append(style);

/** Return an element with a class and, if given, words. */
function made(name, kind, words = "") {
  const element = document.createElement(name);
  element.className = kind;
  element.textContent = words;
  return element;
}

/** Return a count with its noun. */
function counted(count, noun) {
  return `${count} ${noun}${count === 1 ? "" : "s"}`;
}

/** Return the line at the head of the panel. */
function headline(failure, problems) {
  if (failure) {
    return failure;
  }
  const errors = problems.filter(({ level }) => level === "error").length;
  const warnings = problems.length - errors;
  const told = [];
  if (errors) {
    told.push(counted(errors, "error"));
  }
  if (warnings) {
    told.push(counted(warnings, "warning"));
  }
  return `${told.join(" and ")} in the house`;
}

/** Return one problem: where, what is wrong, what to do about it. */
function item({ place, level, message, remedy }) {
  const line = made("li", `preview-${level}`);
  line.append(made("span", "preview-level", level === "error" ? "Error" : "Warning"));
  line.append(" ", made("code", "preview-place", place));
  line.append(made("p", "preview-message", message));
  if (remedy) {
    line.append(made("p", "preview-remedy", remedy));
  }
  return line;
}

/** Return the panel with every problem, or null where nothing is wrong. */
function panel({ failure, note, problems }) {
  if (!failure && !problems.length) {
    return null;
  }
  const box = made("details", "preview-problems");
  // Warnings alone stay folded until they are asked for: they may be there for good.
  const urgent = failure || problems.some(({ level }) => level === "error");
  const chosen = sessionStorage.getItem(OPEN);
  box.open = urgent ? chosen !== "no" : chosen === "yes";
  box.addEventListener("toggle", () => sessionStorage.setItem(OPEN, box.open ? "yes" : "no"));
  box.append(made("summary", "preview-head", headline(failure, problems)));
  if (note) {
    box.append(made("p", "preview-note", note));
  }
  const list = made("ol", "preview-list");
  list.append(...problems.slice(0, MOST).map(item));
  box.append(list);
  if (problems.length > MOST) {
    const more = `${problems.length - MOST} more: kb proof lists them all.`;
    box.append(made("p", "preview-note", more));
  }
  return box;
}

const place = made("section", "preview");
place.setAttribute("aria-label", "Problems of the house");
place.setAttribute("role", "status");
document.body.prepend(place);

/** Show the problems of the house at the head of the page, or nothing. */
async function show() {
  const answer = await fetch("/-/problems.json");
  const box = panel(await answer.json());
  place.replaceChildren(...(box ? [box] : []));
  document.documentElement.dataset.preview = box ? "problems" : "sound";
}

let shown = null;
const events = new EventSource("/-/events");
events.addEventListener("message", ({ data }) => {
  if (shown !== null && data !== shown) {
    location.reload();
  }
  shown = data;
});
// A page that is left lets go of its connection at once, or six open tabs would block a seventh.
addEventListener("pagehide", () => events.close());
show();
