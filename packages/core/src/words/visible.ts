/**
 * Characters that a terminal acts on or that nobody sees: controls (C0, DEL, C1), separators of lines and paragraphs,
 * marks of direction, zero-width characters, the Braille sign without dots, halves of a pair. What chooses between two looks of a sign stays.
 */
const UNSEEN =
  /(?![\ufe00-\ufe0f])[\p{Cc}\p{Cs}\p{Zl}\p{Zp}\p{Bidi_Control}\p{Default_Ignorable_Code_Point}\u2800\ufff9-\ufffb]/gu;

const SHORT: Readonly<Record<string, string>> = { '\n': '\\n', '\r': '\\r', '\t': '\\t' };

/**
 * A text on one line, with every character that can't be seen, or that a terminal would obey, written out: `\n`,
 * `\u001b`. Text of a file or an argument goes through this before a person reads it. A second time changes nothing.
 */
export function visible(text: string): string {
  return text.replace(UNSEEN, (character) => SHORT[character] ?? escaped(character));
}

/** Whether a text holds a character that {@link visible} would write out. */
export function hasUnseen(text: string): boolean {
  return text.search(UNSEEN) >= 0;
}

/** A text without what {@link visible} would write out. */
export function withoutUnseen(text: string): string {
  return text.replace(UNSEEN, '');
}

/** JSON whose strings mean what they meant, with nothing in it that a terminal obeys but line breaks of the layout. */
export function visibleJson(json: string): string {
  return json.replace(UNSEEN, (character) => (character === '\n' ? character : escaped(character)));
}

/** A character as JSON and JavaScript write it: four hexadecimal digits for each half. */
function escaped(character: string): string {
  let text = '';
  for (let i = 0; i < character.length; i++) text += `\\u${character.charCodeAt(i).toString(16).padStart(4, '0')}`;
  return text;
}
