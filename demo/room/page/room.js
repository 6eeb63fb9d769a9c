// What the page knows about the room, and how it asks.

async function ask(path, body) {
  const options = body === undefined ? {} : {
    method: "POST",
    headers: { "Content-Type": "application/json" },
    body: JSON.stringify(body),
  };
  const response = await fetch(`/room/api/${path}`, options);
  const answer = await response.json();
  if (!answer.ok) throw new Error(answer.description.replace(/^[A-Z][\w ]*: /, ""));
  return answer.result;
}

export const room = {
  state: () => ask("state"),
  lines: (chat) => ask(`chats/${chat}`),
  understood: (chat) => ask(`understood/${chat}`),
  say: (chat, person, text) => ask("say", { chat, person, text }),
  enclose: (chat, person, name, content, text) => ask("enclose", { chat, person, name, content, text }),
  edit: (chat, person, message, text) => ask("edit", { chat, person, message, text }),
  press: (chat, person, message, button) => ask("press", { chat, person, message, button }),
  season: () => ask("season", {}),
  file: (id) => `/room/api/files/${encodeURIComponent(id)}`,
};

// Follow the room's events. `heard` has one function for each kind; `lost` and `found` tell about the connection.
export function follow(after, heard, { lost, found }) {
  const source = new EventSource(`/room/api/events?after=${after}`);
  for (const [kind, tell] of Object.entries(heard)) {
    source.addEventListener(kind, (event) => tell(JSON.parse(event.data)));
  }
  source.addEventListener("open", found);
  source.addEventListener("error", lost);
}
