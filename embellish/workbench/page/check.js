// Check: what was noticed, what it takes, what it costs, and where the sum came from.

import { el, button } from "/page/el.js";
import { store, called, named } from "/page/store.js";
import { fitPanel } from "/page/fit.js";
import { goTo } from "/page/stage.js";

const OF_COST = /cost|pric|stock|goods/;
const GRAVE = { error: "✕ error", warning: "! warning", note: "· note" };

export function checkPanel() {
  const facts = store.facts;
  if (!facts) return [el("h2", {}, "Check"), el("p", { class: "quiet" }, store.busy || "Being checked …")];
  const plain = store.view === "customer"; // what is shown to a customer says nothing of cost
  const findings = facts.findings.filter((finding) => !plain || !OF_COST.test(finding.code));
  return [
    plain ? el("p", { class: "quiet" }, "Cost is left out while the picture is for the customer.") : null,
    el("h2", {}, findings.length ? `${findings.length} finding${findings.length > 1 ? "s" : ""}` : "Nothing was found wrong"),
    ...findings.map((finding) => el("div", { class: `finding ${finding.severity}` },
      el("b", {}, GRAVE[finding.severity]), finding.lay ? ` in ‘${called(finding.lay)}’` : "", el("br"), named(finding.message), finding.mend ? el("p", { class: "quiet" }, named(finding.mend)) : null,
      finding.where ? button("Show the place", () => goTo(finding.where.x, finding.where.y)) : null)),
    fitPanel(facts),
    el("h2", {}, "What it takes"),
    el("table", {}, el("thead", {}, el("tr", {}, el("th", { scope: "col" }, "piece"), el("th", { scope: "col", class: "n" }, "count"), plain ? [] : [el("th", { scope: "col", class: "n" }, "to buy"), el("th", { scope: "col", class: "n" }, "cost")])),
      el("tbody", {}, facts.materials.lines.map((line) => el("tr", {}, el("td", {}, line.code), el("td", { class: "n" }, String(line.count)), plain ? [] : [el("td", { class: "n" }, line.packs.map((pack) => `${pack.quantity} × ${pack.pieces}`).join(", ") || "–"), el("td", { class: "n" }, line.cost ?? "–")])))),
    ...plain ? [] : [el("h2", {}, "The price"),
    el("table", {}, el("tbody", {}, (facts.quote.lines ?? []).map((line) => el("tr", {}, el("td", {}, line.name, el("br"), el("small", { class: "quiet" }, line.rule ?? "")), el("td", { class: "n" }, line.amount)))))],
    el("h3", {}, "Cautions"),
    el("ul", {}, facts.cautions.map((caution) => el("li", {}, caution.words, el("br"), el("small", { class: "quiet" }, caution.source)))),
  ];
}
