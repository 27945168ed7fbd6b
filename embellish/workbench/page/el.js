// Elements made in one line; words are always text, never markup.

export function el(tag, held = {}, ...children) {
  const made = document.createElement(tag);
  for (const [key, value] of Object.entries(held)) {
    if (value === undefined || value === null || value === false) continue;
    if (key.startsWith("on")) made.addEventListener(key.slice(2), value);
    else if (key === "class") made.className = value;
    else if (key === "hex") made.style.background = value;
    else if (key in made && key !== "list" && key !== "role" && typeof value !== "object") made[key] = value;
    else made.setAttribute(key, value === true ? "" : value);
  }
  made.append(...children.flat().filter((child) => child !== null && child !== undefined && child !== false));
  return made;
}

export const button = (words, deed, held = {}) => el("button", { type: "button", onclick: deed, ...held }, words);

// Call once the hand rests: a number being typed is not asked for digit by digit.
export function resting(deed, ms = 160) {
  let timer = 0;
  return (...args) => { clearTimeout(timer); timer = setTimeout(() => deed(...args), ms); };
}
