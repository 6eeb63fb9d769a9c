// Beside the log: what the assistant made of it. It is asked again a moment after anything changes.

import { make } from "./entries.js";
import { room } from "./room.js";

const panel = document.getElementById("understood");
const body = document.getElementById("understood-body");
const SETTLE_MS = 250;

let chat = null;
let shown = "";
let soon = 0;

// The panel of another page of the log.
export function showUnderstood(opened) {
  chat = opened.id;
  ask();
}

// Something was written, amended or answered.
export function askAgain() {
  clearTimeout(soon);
  soon = setTimeout(ask, SETTLE_MS);
}

async function ask() {
  if (!panel.open || chat === null) return;
  const asked = chat;
  let view;
  try {
    view = await room.understood(asked);
  } catch {
    return; // the foot says it when the room is closed
  }
  const text = JSON.stringify(view);
  if (asked !== chat || text === shown) return;
  shown = text;
  draw(view);
}

function draw(view) {
  if (view.entries.length === 0) {
    body.replaceChildren(make("p", { className: "blank", text: "Nothing yet. Write a reading, and it stands here as the assistant read it." }));
    return;
  }
  body.replaceChildren(
    make("h3", { text: "In the journal" }),
    make("ol", { className: "facts" }, ...view.entries.map(fact)),
    make("h3", { text: `To keep, for ${view.for}` }),
    bands(view.bands),
    make("h3", { text: "Next" }),
    view.due.length > 0
      ? make("ul", { className: "dues" }, ...view.due.map(due))
      : make("p", { className: "blank", text: "Nothing is due." }),
  );
}

function fact({ who, when, words, doubted }) {
  return make("li", { className: doubted ? "doubted" : "" },
    make("span", { text: words }),
    doubted && make("em", { text: "waits to be confirmed" }),
    make("small", { text: `${who}, ${when}` }));
}

function bands(rows) {
  return make("table", {},
    make("thead", {}, make("tr", {},
      ...["", "aim", "act outside"].map((text) => make("th", { scope: "col", text })))),
    make("tbody", {}, ...rows.map(({ what, aim, keep }) => make("tr", {},
      make("th", { scope: "row", text: what }), make("td", { text: aim }), make("td", { text: keep })))));
}

function due({ when, what, why }) {
  return make("li", {}, make("strong", { text: when }), ` ${what}`, make("small", { text: why }));
}

panel.addEventListener("toggle", ask);
panel.open = matchMedia("(min-width: 48rem)").matches; // on a phone the log comes first
