// Make: every output, into a folder beside the job or as a zip, and the work sheet to print.

import { post } from "/page/api.js";
import { el, button } from "/page/el.js";
import { store, attempt, tell } from "/page/store.js";

const link = (name) => `/api/made/${name.split("/").map(encodeURIComponent).join("/")}`;

let made = null, working = false;

export function makePanel() {
  const facts = store.facts;
  const stopped = facts?.stopped;
  const run = (folder) => attempt(async () => {
    working = true;
    made = null;
    tell("step");
    try { made = { ...await post("/api/make", { anyway: false, folder }), number: store.state.number }; } finally { working = false; store.busy = ""; tell("step"); }
  });
  if (store.view === "customer") return [el("h2", {}, "Make"), el("p", { class: "quiet" }, "What is made tells cost and price: choose another picture than the customer's first.")];
  const stale = made && made.number !== store.state.number;
  return [
    el("h2", {}, "Make"),
    stopped ? el("p", { class: "finding error" }, "An error stands: templates and marks are withheld until it is mended. See Check.") : null,
    el("div", { class: "row" },
      button("Make into a folder", () => run(true), { class: "main", disabled: working || !facts }),
      button("Make a zip", () => run(false), { disabled: working || !facts })),
    working ? el("div", {}, el("progress", { id: "made-share", "aria-label": "Making", max: 1 }), el("p", { id: "making", class: "quiet", role: "status" }, store.busy || "Making …")) : null,
    made ? el("div", {},
      el("p", { role: "status" }, `${made.files.length} files${made.folder ? ` in the folder ${made.folder}, beside the job` : ""}${stale ? ", of an earlier state of the job" : ""}.${made.withheld ? " Templates and marks were withheld." : ""}`),
      el("p", {}, el("a", { href: "/api/made.zip", download: "" }, "Download all as a zip")),
      made.files.filter((file) => /(^|\/)worksheet\.html$/.test(file.name)).map((file) => el("p", {}, el("a", { href: link(file.name), target: "_blank", rel: "noopener" }, `Open the work sheet${file.name.includes("/") ? ` (${file.name.split("/")[0]})` : ""}, to print`))),
      el("ul", { class: "plain" }, made.files.map((file) => el("li", {}, el("a", { href: link(file.name), target: "_blank", rel: "noopener" }, file.name), el("span", { class: "quiet" }, ` ${(file.bytes / 1024).toFixed(0)} kB`))))) : null,
    facts ? el("div", {}, el("h3", {}, "The work, in its order"), el("ol", {}, facts.work.map((step) => el("li", {}, el("b", {}, step.title), step.times > 1 ? ` × ${step.times}` : "")))) : null,
  ];
}
