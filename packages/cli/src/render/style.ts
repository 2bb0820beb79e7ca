import { styleText } from 'node:util';

type Style = 'bold' | 'dim' | 'underline';

/** Whether stdout takes styles: a terminal that is not dumb, and nobody asked for none (no-color.org). */
export function stylesWanted(): boolean {
  return process.stdout.isTTY === true && !process.env.NO_COLOR && process.env.TERM !== 'dumb';
}

/** Text in a style on a terminal, plain text elsewhere. */
export function styled(style: Style, text: string): string {
  return stylesWanted() ? styleText(style, text, { validateStream: false }) : text;
}
