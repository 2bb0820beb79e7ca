import type { FindingList } from './findings.ts';

/** Text of a file, its byte-order mark taken off; UTF-16 recognised by its mark or its zero bytes. */
export function decodeText(bytes: Uint8Array, findings: FindingList): string {
  if (bytes[0] === 0xff && bytes[1] === 0xfe) return decode(bytes, 'utf-16le');
  if (bytes[0] === 0xfe && bytes[1] === 0xff) return decodeBigEndian(bytes);
  const head = bytes.subarray(0, 1000);
  let evenZeros = 0;
  let oddZeros = 0;
  for (let i = 0; i < head.length; i++) if (head[i] === 0) i % 2 === 0 ? evenZeros++ : oddZeros++;
  if (oddZeros > head.length / 4 && evenZeros === 0) return decode(bytes, 'utf-16le');
  if (evenZeros > head.length / 4 && oddZeros === 0) return decodeBigEndian(bytes);
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch {
    findings.add('encoding-guessed', 'note', {});
    return new TextDecoder('windows-1252').decode(bytes);
  }
}

function decode(bytes: Uint8Array, encoding: string): string {
  return new TextDecoder(encoding).decode(bytes);
}

function decodeBigEndian(bytes: Uint8Array): string {
  const swapped = new Uint8Array(bytes.length - (bytes.length % 2));
  for (let i = 0; i < swapped.length; i += 2) {
    swapped[i] = bytes[i + 1]!;
    swapped[i + 1] = bytes[i]!;
  }
  return new TextDecoder('utf-16le').decode(swapped);
}

/** Whether a text holds what no text file does: a sign of a picture, a spreadsheet, a program. */
export function looksBinary(text: string): boolean {
  let strange = 0;
  const length = Math.min(text.length, 4000);
  for (let i = 0; i < length; i++) {
    const code = text.charCodeAt(i);
    if (code === 0) return true;
    if (code === 0xfffd || (code < 32 && code !== 9 && code !== 10 && code !== 13 && code !== 12)) strange++;
  }
  return strange > length / 20;
}
