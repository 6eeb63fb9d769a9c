// How an entry of the log looks.

import { room } from "./room.js";

const KEPT = new Set(["STRONG", "EM", "U", "S", "CODE", "PRE", "BLOCKQUOTE", "MARK", "TIME"]);
const clock = new Intl.DateTimeFormat(undefined, { hour: "2-digit", minute: "2-digit" });
const calendar = new Intl.DateTimeFormat(undefined, { weekday: "long", day: "numeric", month: "long" });

export function make(tag, { text, ...properties } = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(properties)) {
    if (value === undefined || value === null) continue;
    if (name in element) element[name] = value;
    else element.setAttribute(name, value);
  }
  if (text !== undefined) element.textContent = text;
  element.append(...children.filter(Boolean));
  return element;
}

const parsed = (html) => new DOMParser().parseFromString(html, "text/html").body;

export const plainText = (line) => parsed(line.html).textContent;

// The room sends safe mark-up; only what is known here is taken over all the same.
function safeNodes(html) {
  return [...parsed(html).childNodes].map(copied);
}

function copied(node) {
  if (node.nodeType === Node.TEXT_NODE) return document.createTextNode(node.data);
  if (node.nodeType !== Node.ELEMENT_NODE) return document.createTextNode("");
  const children = [...node.childNodes].map(copied);
  if (KEPT.has(node.tagName)) return make(node.tagName.toLowerCase(), {}, ...children);
  if (node.tagName === "A") {
    const href = node.getAttribute("href") ?? "";
    if (href.startsWith("https:") || href.startsWith("http:")) {
      return make("a", { href, target: "_blank", rel: "noreferrer" }, ...children);
    }
    return make("strong", {}, ...children); // a mention of a person
  }
  return make("span", {}, ...children);
}

export function dayOf(line) {
  return calendar.format(new Date(line.at * 1000));
}

export function entryId(line) {
  return `line-${line.chat}-${line.id}`;
}

// One entry. `mine`: the person who writes now wrote it. `acts`: what amending and pressing do.
export function entry(line, { mine, botName, acts }) {
  const name = line.from === null ? botName : line.name;
  const at = clock.format(new Date(line.at * 1000));
  const side = line.from === null ? "assistant" : mine ? "own" : "other";
  const article = make("article", {
    id: entryId(line),
    className: `entry ${side}${line.gone ? " gone" : ""}`,
    "aria-label": `${name}, ${at}`,
  });
  article.append(
    make("div", { className: "by" },
      make("span", { className: "who", text: name }),
      make("time", { text: at, dateTime: new Date(line.at * 1000).toISOString() })),
    make("div", { className: "body" },
      line.answers && make("p", { className: "answers", text: `to ${line.answers.name}: ${line.answers.text}` }),
      line.photo && picture(line, name),
      line.document && enclosed(line.document),
      line.html && words(line, acts),
      line.keys.length > 0 && keys(line, acts)),
    remarks(line, { mine, at, botName, acts }),
  );
  if (mine) onLongPress(article, () => acts.amend(line));
  return article;
}

const COMMAND = /(?<![\w/@])\/[a-z0-9_]{1,32}(?![\w/@])/g;

// The text; what the assistant names as a command can be pressed.
function words(line, acts) {
  const text = make("div", { className: "words" }, ...safeNodes(line.html));
  if (line.from !== null) return text;
  const walker = document.createTreeWalker(text, NodeFilter.SHOW_TEXT);
  const nodes = [];
  while (walker.nextNode()) if (!walker.currentNode.parentElement.closest("a")) nodes.push(walker.currentNode);
  for (const node of nodes) node.replaceWith(...withCommands(node.data, acts));
  return text;
}

function withCommands(text, acts) {
  const parts = [];
  let done = 0;
  for (const match of text.matchAll(COMMAND)) {
    const button = make("button", { type: "button", className: "command", text: match[0] });
    button.addEventListener("click", () => acts.say(match[0]));
    parts.push(text.slice(done, match.index), button);
    done = match.index + match[0].length;
  }
  return [...parts, text.slice(done)];
}

// The narrow column at the right: how the assistant marked the entry, and amending it.
function remarks(line, { mine, at, botName, acts }) {
  const column = make("div", { className: "remarks" });
  if (line.reaction) {
    column.append(make("span", { className: "reaction", role: "img", text: line.reaction,
      "aria-label": `${botName} marked this with ${line.reaction}` }));
  }
  if (line.edited) column.append(make("span", { text: "amended" }));
  if (mine) {
    const amend = make("button", { type: "button", className: "amend", text: "Amend" });
    amend.setAttribute("aria-label", `Amend the entry of ${at}`);
    amend.addEventListener("click", () => acts.amend(line));
    column.append(amend);
  }
  return column;
}

function picture(line, name) {
  const words = plainText(line);
  return make("img", {
    src: room.file(line.photo.file),
    width: line.photo.width,
    height: line.photo.height,
    alt: words ? `Picture from ${name}; its caption follows` : `Picture from ${name}`,
  });
}

function enclosed(document_) {
  const size = document_.bytes < 2048 ? `${document_.bytes} bytes` : `${Math.round(document_.bytes / 1024)} kB`;
  return make("a", { className: "enclosed", href: room.file(document_.file), download: document_.name || "file",
    text: `Enclosed: ${document_.name || "file"} (${size})` });
}

function keys(line, acts) {
  const group = make("div", { className: "keys", role: "group", "aria-label": "Keys of this entry" });
  for (const row of line.keys) {
    group.append(make("div", { className: "row" }, ...row.map((key) => {
      if (key.url) return make("a", { className: "key", href: key.url, target: "_blank", rel: "noreferrer", text: key.label });
      const button = make("button", { type: "button", className: "key", text: key.label });
      button.addEventListener("click", () => acts.press(line, key, button));
      return button;
    })));
  }
  return group;
}

function onLongPress(element, then) {
  const HOLD_MS = 450; // before a phone begins to select text
  const SLACK_PX = 8;
  let timer = 0;
  let from = null;
  const stop = () => clearTimeout(timer);
  element.addEventListener("pointerdown", (event) => {
    if (event.button !== 0 || event.target.closest("button, a")) return;
    from = event;
    timer = setTimeout(then, HOLD_MS);
  });
  element.addEventListener("pointermove", (event) => {
    if (from && Math.hypot(event.clientX - from.clientX, event.clientY - from.clientY) > SLACK_PX) stop();
  });
  for (const end of ["pointerup", "pointercancel", "pointerleave"]) element.addEventListener(end, stop);
}
