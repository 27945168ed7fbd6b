// A picture of the maker's: chosen here, put beside the job under a safe name by the workbench.

import { send } from "/page/api.js";
import { el } from "/page/el.js";
import { attempt, take } from "/page/store.js";

export function pictureFor(use, lay, now, label, told) {
  const id = `picture-${use}`;
  const input = el("input", { id, type: "file", accept: ".png,.jpg,.jpeg", "aria-describedby": `${id}t`, onchange: () => {
    const [file] = input.files;
    const asked = new URLSearchParams({ for: use, lay, name: file?.name ?? "" });
    if (file) attempt(async () => take(await send(`/api/picture?${asked}`, file)));
  } });
  return el("div", { class: "field wide" }, el("label", { for: id }, label), input,
    el("small", { id: `${id}t` }, now ? `Now: ${now}. ` : "", told));
}
