// Asks an address of the API from the guide's page, as who is signed in or by a key, and shows what came.
const form = document.querySelector("#try-form");
const answer = document.querySelector("#answer");
const root = form.dataset.root;

function headersOf(method) {
  const headers = { Accept: "application/json" };
  const key = form.elements.key.value.trim();
  if (key) headers.Authorization = `Bearer ${key}`;
  if (method === "GET") return headers;
  if (!key) headers["X-CSRFToken"] = form.elements.csrfmiddlewaretoken.value;
  headers["Idempotency-Key"] = crypto.randomUUID();
  headers["Content-Type"] = "application/json";
  return headers;
}

async function versionOf(address, credentials) {
  const read = await fetch(root + address, { headers: headersOf("GET"), credentials });
  return read.headers.get("ETag") ?? "";
}

async function ask() {
  const method = form.elements.method.value;
  const address = form.elements.address.value.replace(/^\/?(api\/v1\/)?/, "");
  const credentials = form.elements.key.value.trim() ? "omit" : "same-origin";
  const headers = headersOf(method);
  if (method === "PUT" || method === "PATCH") headers["If-Match"] = await versionOf(address, credentials);
  const body = method === "GET" || method === "DELETE" ? undefined : form.elements.body.value;
  return fetch(root + address, { method, headers, body, credentials, cache: "no-store" });
}

async function told(response) {
  const told = ["ETag", "RateLimit", "Retry-After"].filter((name) => response.headers.has(name));
  const lines = told.map((name) => `${name}: ${response.headers.get(name)}`);
  const text = await response.text();
  const isJson = response.headers.get("Content-Type")?.includes("json");
  const shown = isJson && text ? JSON.stringify(JSON.parse(text), null, 2) : text;
  return [`${response.status} ${response.statusText}`, ...lines, "", shown].join("\n");
}

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  answer.hidden = false;
  answer.textContent = "Asked, waiting …";
  try {
    answer.textContent = await told(await ask());
  } catch (wrong) {
    answer.textContent = `No answer came: ${wrong.message}`;
  }
});

form.elements.method.addEventListener("change", () => {
  form.querySelector("#try-body").hidden = ["GET", "DELETE"].includes(form.elements.method.value);
});

for (const link of document.querySelectorAll("a[data-address]")) {
  link.addEventListener("click", () => {
    form.elements.method.value = link.dataset.method;
    form.elements.address.value = link.dataset.address;
    form.elements.method.dispatchEvent(new Event("change"));
    form.elements.address.focus();
  });
}
form.hidden = false;
