// The page: who writes, on which page, what stands there, and writing itself.

import { dayOf, entry, entryId, make, plainText } from "./entries.js";
import { follow, room } from "./room.js";
import { askAgain, showUnderstood } from "./understood.js";

const at = (id) => document.getElementById(id);
const log = at("log");
const field = at("entry");
const form = at("form");
const NEAR_END_PX = 120;
const ANSWER_MS = 8000;

const desk = {
  bot: { name: "", username: "" },
  people: [],
  chats: [],
  suggestions: { private: [], group: [] },
  person: null,
  chat: null,
  lines: new Map(), // of the open page
  news: new Map(), // chat id -> entries not seen
  amending: null,
  pressed: new Map(), // query -> its key
};

// Where we are -----------------------------------------------------------------------------------------------

const personById = (id) => desk.people.find((person) => person.id === id);
const ownChat = (person) => desk.chats.find((chat) => chat.private && chat.id === person.id);
const pagesOf = (person) => desk.chats.filter((chat) => chat.members.includes(person.id));
const titleOf = (chat) => (chat.private ? `${chat.title}’s own page` : chat.title);

function remember() {
  localStorage.setItem("room", JSON.stringify({ person: desk.person.id, chat: desk.chat.id }));
}

function recalled() {
  try {
    return JSON.parse(localStorage.getItem("room")) ?? {};
  } catch {
    return {};
  }
}

function choice(group, { name, label, checked, news, pick }) {
  const input = make("input", { type: "radio", name, checked });
  input.addEventListener("change", pick);
  const count = make("span", { className: "news", text: news ? `${news} new` : "" });
  group.append(make("label", { className: "choice" }, input, make("span", { text: label }), count));
}

function drawChoices() {
  const focused = document.activeElement?.name;
  at("people").replaceChildren();
  for (const person of desk.people) {
    const own = ownChat(person);
    const news = person === desk.person ? 0 : desk.news.get(own?.id);
    choice(at("people"), { name: "person", label: person.name, checked: person === desk.person, news,
      pick: () => open(person, desk.chat.private ? ownChat(person) : desk.chat) });
  }
  at("pages").replaceChildren();
  for (const chat of pagesOf(desk.person)) {
    const label = chat.private ? "Own page" : chat.title;
    choice(at("pages"), { name: "page", label, checked: chat === desk.chat, news: desk.news.get(chat.id),
      pick: () => open(desk.person, chat) });
  }
  if (focused) document.querySelector(`input[name="${focused}"]:checked`)?.focus();
}

async function open(person, chat) {
  desk.person = person;
  desk.chat = chat && pagesOf(person).includes(chat) ? chat : ownChat(person);
  desk.news.delete(desk.chat.id);
  leaveAmending();
  remember();
  drawChoices();
  const names = desk.chat.members.map((id) => personById(id)?.name).filter(Boolean);
  at("title").textContent = desk.chat.private ? titleOf(desk.chat) : `${desk.chat.title}: ${names.join(", ")}`;
  at("entry-label").textContent = `${person.name} writes`;
  const opened = desk.chat;
  showUnderstood(opened);
  const lines = await room.lines(opened.id);
  if (opened !== desk.chat || person !== desk.person) return; // another page was opened meanwhile
  desk.lines = new Map(lines.map((line) => [line.id, line]));
  drawLog();
}

// The log ----------------------------------------------------------------------------------------------------

const acts = { amend: startAmending, press, say };

function drawn(line) {
  return entry(line, { mine: line.from === desk.person.id, botName: desk.bot.name, acts });
}

function appendEntry(line, previous) {
  log.querySelector(".empty")?.remove();
  const day = dayOf(line);
  if (!previous || dayOf(previous) !== day) log.append(make("h3", { className: "day", text: day }));
  log.append(drawn(line));
}

function drawLog() {
  log.setAttribute("aria-live", "off"); // a whole page is not read out
  log.replaceChildren();
  let previous = null;
  for (const line of desk.lines.values()) {
    appendEntry(line, previous);
    previous = line;
  }
  if (!previous) log.append(make("p", { className: "empty", text: "Nothing is written here yet. The keys below show what to write first." }));
  drawHints();
  toEnd("instant");
  setTimeout(() => log.setAttribute("aria-live", "polite"), 300);
}

function toEnd(behavior = "auto") {
  log.scrollTo({ top: log.scrollHeight, behavior });
}

const nearEnd = () => log.scrollHeight - log.scrollTop - log.clientHeight < NEAR_END_PX;

function heardLine(line) {
  askAgain();
  if (line.chat !== desk.chat?.id) {
    if (line.from === null && !line.gone && !line.edited) {
      desk.news.set(line.chat, (desk.news.get(line.chat) ?? 0) + 1);
      drawChoices();
    }
    return;
  }
  const follows = nearEnd() || line.from === desk.person.id;
  const old = at(entryId(line));
  const previous = [...desk.lines.values()].at(-1);
  desk.lines.set(line.id, line);
  if (old) {
    const held = old.contains(document.activeElement);
    old.replaceWith(drawn(line));
    if (held) log.focus({ preventScroll: true });
  } else if (!line.gone) {
    appendEntry(line, previous);
  }
  drawHints();
  if (follows) show(at(entryId(line)));
}

// The end of the log, unless the entry is longer than the sheet: then its beginning.
function show(entered) {
  if (entered && entered.offsetHeight > log.clientHeight) entered.scrollIntoView({ block: "start" });
  else toEnd();
}

// Keys -------------------------------------------------------------------------------------------------------

async function press(line, key, button) {
  if (button.getAttribute("aria-busy") === "true") return;
  button.setAttribute("aria-busy", "true");
  const release = () => button.removeAttribute("aria-busy");
  try {
    const { query } = await room.press(line.chat, desk.person.id, line.id, key.data);
    desk.pressed.set(query, release);
    setTimeout(() => {
      if (desk.pressed.delete(query)) {
        release();
        tell("No answer yet; the assistant may be busy.");
      }
    }, ANSWER_MS);
  } catch (error) {
    release();
    tell(error.message);
  }
}

function heardAnswer({ query, text, alert }) {
  askAgain();
  const release = desk.pressed.get(query);
  if (!release) return; // somebody else's page pressed it
  desk.pressed.delete(query);
  release();
  if (alert && text) {
    at("notice-text").textContent = text;
    at("notice").showModal();
  } else if (text) {
    tell(text);
  }
}

let quiet = 0;
function tell(text, { stays = false } = {}) {
  clearTimeout(quiet);
  at("status").textContent = text;
  if (!stays) quiet = setTimeout(() => { at("status").textContent = ""; }, ANSWER_MS);
}

// Writing ----------------------------------------------------------------------------------------------------

function drawHints() {
  const hints = at("hints");
  const written = new Set([...desk.lines.values()].filter((line) => line.from !== null).map(plainText));
  const left = desk.suggestions[desk.chat.private ? "private" : "group"]
    .filter((text) => !written.has(text));
  const shown = [...hints.children].map((key) => key.textContent);
  if (shown.join("\n") === left.join("\n")) return;
  hints.replaceChildren(...left.map((text) => {
    const key = make("button", { type: "button", className: "key", text });
    key.addEventListener("click", () => {
      field.value = text;
      grow();
      field.focus();
    });
    return key;
  }));
}

function grow() {
  field.style.height = "auto";
  field.style.height = `${field.scrollHeight + field.offsetHeight - field.clientHeight}px`;
}

function startAmending(line) {
  desk.amending = line;
  const words = plainText(line);
  field.value = words;
  form.classList.add("amending");
  at("entry-label").textContent = `${desk.person.name} amends “${words.slice(0, 40)}”`;
  at("write").textContent = "Amend";
  at("leave").hidden = false;
  grow();
  field.focus();
}

function leaveAmending() {
  if (!desk.amending) return;
  desk.amending = null;
  field.value = "";
  form.classList.remove("amending");
  at("entry-label").textContent = `${desk.person.name} writes`;
  at("write").textContent = "Write down";
  at("leave").hidden = true;
  grow();
}

async function say(text) {
  try {
    await room.say(desk.chat.id, desk.person.id, text);
    return true;
  } catch (error) {
    tell(`Not written down: ${error.message}`);
    return false;
  }
}

async function write(event) {
  event?.preventDefault();
  const text = field.value.trim();
  if (!text) return;
  if (desk.amending) {
    try {
      await room.edit(desk.chat.id, desk.person.id, desk.amending.id, text);
      leaveAmending();
    } catch (error) {
      tell(`Not amended: ${error.message}`);
    }
  } else if (await say(text)) {
    field.value = "";
  }
  grow();
}

// A file goes with what stands in the field, which is then the words under it.
async function enclose(file) {
  const bytes = new Uint8Array(await file.arrayBuffer());
  let packed = "";
  for (let from = 0; from < bytes.length; from += 8192) packed += String.fromCharCode(...bytes.subarray(from, from + 8192));
  try {
    await room.enclose(desk.chat.id, desk.person.id, file.name, btoa(packed), field.value.trim());
    field.value = "";
    grow();
  } catch (error) {
    tell(`Not enclosed: ${error.message}`);
  }
}

at("enclose").addEventListener("click", () => at("enclosed").click());
at("enclosed").addEventListener("change", (event) => {
  const [file] = event.target.files;
  event.target.value = "";
  if (file) enclose(file);
});
form.addEventListener("submit", write);
at("leave").addEventListener("click", () => { leaveAmending(); field.focus(); });
field.addEventListener("input", grow);
field.addEventListener("keydown", (event) => {
  if (event.isComposing) return;
  if (event.key === "Enter" && !event.shiftKey) {
    write(event);
  } else if (event.key === "Escape") {
    leaveAmending();
  } else if (event.key === "ArrowUp" && field.value === "") {
    const own = [...desk.lines.values()].filter((line) => line.from === desk.person.id && !line.gone).at(-1);
    if (own) {
      event.preventDefault();
      startAmending(own);
    }
  }
});

// An invitation, as the assistant writes it, is a link that starts a private chat with a word.
log.addEventListener("click", (event) => {
  const link = event.target.closest("a[href]");
  const invited = link && new URL(link.href);
  const word = invited?.hostname === "t.me" && invited.pathname === `/${desk.bot.username}` && invited.searchParams.get("start");
  if (!word) return;
  event.preventDefault();
  const person = desk.person;
  open(person, ownChat(person)).then(() => room.say(person.id, person.id, `/start ${word}`));
});

// Start ------------------------------------------------------------------------------------------------------

function drawCommands(commands) {
  at("commands").hidden = commands.length === 0;
  at("commands").querySelector("ul").replaceChildren(
    ...commands.map(({ command, description }) => make("li", {}, make("strong", { text: `/${command}` }), ` ${description}`)));
}

async function readAll() {
  const state = await room.state();
  Object.assign(desk, { bot: state.bot, people: state.people, chats: state.chats, suggestions: state.suggestions });
  drawCommands(state.commands);
  if (!state.awake) heardBot({ awake: false });
  const last = recalled();
  const person = personById(desk.person?.id ?? last.person) ?? desk.people[0];
  const chat = desk.chats.find((one) => one.id === (desk.chat?.id ?? last.chat));
  await open(person, chat);
  return state.last_event;
}

// A season ---------------------------------------------------------------------------------------------------

at("play").addEventListener("click", async () => {
  at("play").disabled = true;
  try {
    const { chat, total } = await room.season();
    await readAll();
    const player = personById(chat);
    await open(player, ownChat(player));
    heardSeason({ chat, done: 0, total });
  } catch (error) {
    tell(`Not played: ${error.message}.`);
    at("play").disabled = false;
  }
});

function heardSeason({ chat, done, total }) {
  const name = personById(chat)?.name ?? "";
  const over = done === total;
  at("played").hidden = false;
  at("play").hidden = true;
  at("played-bar").max = total;
  at("played-bar").value = done;
  at("played-text").textContent = over
    ? `${name}’s season is played. Ask on that page: chart ph 60 days, /plants, /due.`
    : `Sixty days of ${name}’s log, message ${done} of ${total}`;
}

function heardBot({ awake }) {
  if (awake) tell("The assistant is awake.");
  else tell("The assistant is away; what you write is kept for it.", { stays: true });
}

let isLost = false;
readAll().then((last) => {
  follow(last, { line: heardLine, answer: heardAnswer, bot: heardBot, season: heardSeason, reload: readAll }, {
    lost: () => { isLost = true; tell("The room is closed. This page waits until it opens again.", { stays: true }); },
    found: () => { if (isLost) { isLost = false; tell(""); readAll(); } },
  });
  if (matchMedia("(hover: hover)").matches) field.focus(); // elsewhere it would raise a keyboard
}).catch(() => tell("The room does not answer. Is it still open?", { stays: true }));
