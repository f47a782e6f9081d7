/**
 * Added to pages by the preview alone: reloads the page when the house has changed, and shows what
 * is wrong in it. Never part of a published site.
 */

const box = document.createElement("aside");
box.className = "preview-problems";
box.setAttribute("aria-live", "polite");

/** Show the problems of the house at the top of the page, or nothing. */
async function show() {
  const answer = await fetch("/-/problems.json");
  const { failure, problems } = await answer.json();
  box.replaceChildren();
  const errors = problems.filter((problem) => problem.level === "error");
  if (failure || problems.length) {
    const head = document.createElement("p");
    head.textContent = failure || `${errors.length} errors, ${problems.length - errors.length} warnings`;
    const list = document.createElement("ul");
    for (const { place, level, message, remedy } of problems.slice(0, 30)) {
      const line = document.createElement("li");
      line.textContent = `${place}: ${level}: ${message}. ${remedy}`;
      list.append(line);
    }
    box.append(head, list);
    document.body.prepend(box);
  } else {
    box.remove();
  }
}

let shown = null;
new EventSource("/-/events").addEventListener("message", ({ data }) => {
  if (shown !== null && data !== shown) {
    location.reload();
  }
  shown = data;
});
show();
