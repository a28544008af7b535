// The catalogue in the page's language; its texts come from the core.
const words = { texts: {}, language: 'en' };

export function word(key, values = {}) {
  let text = words.texts[key] ?? key;
  for (const [name, value] of Object.entries(values)) text = text.replaceAll(`{${name}}`, value);
  return text;
}

export const has = (key) => key in words.texts;

/** Fixed decimals with the language's decimal mark and a true minus; never "−0.0". */
export function number(value, decimals = 1) {
  const text = Math.abs(value).toFixed(decimals).replace('.', word('decimal_mark'));
  return value < 0 && Number(Math.abs(value).toFixed(decimals)) !== 0 ? `−${text}` : text;
}

export function setWords(texts, language) {
  words.texts = texts;
  words.language = language;
  document.documentElement.lang = language;
  document.title = word('app.title');
  for (const element of document.querySelectorAll('[data-word]')) element.textContent = word(element.dataset.word);
}

/** An element: make('p', {class: 'quiet'}, 'text', child ...). Text is never markup. */
export function make(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (typeof value === 'function') element.addEventListener(name, value);
    else if (value === true) element.setAttribute(name, '');
    else if (value !== false && value !== undefined) element.setAttribute(name, value);
  }
  element.append(...children.filter((child) => child !== null && child !== undefined));
  return element;
}
