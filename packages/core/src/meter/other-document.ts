/** Documents that people take for interval data: what a portal shows, a bill, an answer of a web service. */
export type OtherDocument = 'pdf' | 'web-page' | 'json';

/** What a text is by its first signs (of JSON by its last one too), where it is a document that holds no table. */
export function otherDocument(text: string): OtherDocument | undefined {
  const head = text.slice(0, 1000).trimStart();
  if (head.startsWith('%PDF-')) return 'pdf';
  if (/^<(?:!doctype\s+)?html\b/i.test(head)) return 'web-page';
  const tail = text.slice(-1000).trimEnd();
  if ((head.startsWith('{') && tail.endsWith('}')) || (head.startsWith('[') && tail.endsWith(']'))) return 'json';
  return undefined;
}
