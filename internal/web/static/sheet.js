// What the page does beyond links and forms: it follows a running check, keeps
// the light, plays passages in place, and moves between findings by key.
// Everything here has a way without it.

const root = document.documentElement;
const $ = (id) => document.getElementById(id);

// --- light -----------------------------------------------------------------

const byTheHour = () => {
  const h = new Date().getHours();
  if (h >= 19 || h < 7) root.dataset.light = "dim";
  else delete root.dataset.light; // the system's wish decides by day
};

const setLight = (choice) => {
  root.dataset.choice = choice;
  if (choice === "hour") byTheHour();
  else root.dataset.light = choice;
  for (const b of document.querySelectorAll(".light button")) b.setAttribute("aria-pressed", String(b.value === choice));
};

document.querySelector(".light")?.addEventListener("submit", (e) => {
  if (!e.submitter) return;
  e.preventDefault();
  setLight(e.submitter.value);
  const body = new URLSearchParams({ light: e.submitter.value, back: "/" });
  fetch("/light", { method: "POST", body, redirect: "manual" }).catch(() => {});
});

setInterval(() => { if (root.dataset.choice === "hour") byTheHour(); }, 10 * 60 * 1000);

// --- a running check -------------------------------------------------------

const showProgress = (p) => {
  const list = $("hearing");
  if (!list) return;
  $("verdict").textContent = p.line;
  $("failure").textContent = p.failure ?? "";
  $("failure").hidden = !p.failure;
  (p.files ?? []).forEach((f, i) => {
    let li = list.children[i];
    if (!li) {
      li = list.appendChild(document.createElement("li"));
      for (const c of ["file", "progress", "state", "trouble"]) {
        const el = li.appendChild(document.createElement(c === "progress" ? "progress" : "span"));
        if (c === "progress") { el.max = 100; el.setAttribute("aria-label", f.name); } else el.className = c;
      }
    }
    if (li.dataset.state === f.state && f.state !== "listening") return;
    li.dataset.state = f.state;
    li.querySelector(".file").textContent = f.name;
    li.querySelector("progress").value = f.fraction * 100;
    li.querySelector(".state").textContent = f.state;
    li.querySelector(".trouble").textContent = f.trouble ?? "";
  });
};

const showResult = async (version) => {
  const answer = await fetch(location.pathname + location.search);
  if (!answer.ok) return;
  const next = new DOMParser().parseFromString(await answer.text(), "text/html");
  const main = document.importNode(next.querySelector("main"), true);
  const open = document.activeElement?.id; // keep the place of whoever is reading
  document.querySelector("main").replaceWith(main);
  document.title = next.title;
  root.dataset.version = version;
  $("margins").href = "/sheet.css?" + version;
  $("said").textContent = "The check is done. " + $("verdict").textContent;
  if (open) $(open)?.focus({ preventScroll: true });
  // The anchor of the address did not exist before; go there now.
  if (location.hash) document.querySelector(CSS.escape ? "#" + CSS.escape(location.hash.slice(1)) : location.hash)?.scrollIntoView();
};

const follow = () => {
  const events = new EventSource("/events?version=" + root.dataset.version);
  events.addEventListener("progress", (e) => showProgress(JSON.parse(e.data)));
  events.addEventListener("end", () => events.close());
  events.addEventListener("result", (e) => {
    if (!root.dataset.live) events.close();
    showResult(JSON.parse(e.data).version);
  });
};

if (root.dataset.live || document.querySelector("main").dataset.state === "progress") follow();

// --- listening -------------------------------------------------------------

let player, playing;

const silence = () => {
  player?.pause();
  if (playing) { playing.removeAttribute("aria-pressed"); playing.textContent = playing.dataset.word; }
  playing = undefined;
};

document.addEventListener("click", (e) => {
  const a = e.target.closest?.("a.hear");
  if (!a || e.ctrlKey || e.metaKey || e.shiftKey) return;
  e.preventDefault();
  const again = a === playing;
  silence();
  if (again) return;
  playing = a;
  a.dataset.word = a.textContent;
  a.setAttribute("aria-pressed", "true");
  a.textContent = "Stop";
  player ??= new Audio();
  player.onended = silence;
  player.src = a.href;
  player.play().catch(() => { silence(); $("said").textContent = "This passage could not be played."; });
});

// --- keys: j and k, only while a finding has the focus ------------------------

document.addEventListener("keydown", (e) => {
  if (e.altKey || e.ctrlKey || e.metaKey || e.target.matches?.("input, select, textarea")) return;
  if (e.key === "Escape") silence();
  if (e.key !== "j" && e.key !== "k") return;
  const all = [...document.querySelectorAll(".single[id], .items > li[id]")];
  const here = all.indexOf(e.target.closest?.(".single, .items > li"));
  if (here < 0) return;
  const to = all[here + (e.key === "j" ? 1 : -1)];
  if (to) { to.focus(); to.scrollIntoView({ block: "nearest" }); e.preventDefault(); }
});
