import { InputError } from '../input/issue.ts';
import type { Flows } from './flows.ts';
import type { Levels } from './levels.ts';

/** Arrays that a run overwrites. */
interface WorkArrays {
  readonly flows?: Flows | undefined;
  readonly levels?: Levels | undefined;
}

/**
 * Refuses work arrays that share memory with each other or with what the run reads: it would read what it has just written.
 * A few dozen comparisons, none of a value.
 *
 * @param read what the run reads: arrays, and objects whose fields are arrays
 * @throws InputError `shared-array`
 */
export function checkApart({ flows, levels }: WorkArrays, read: readonly unknown[]): void {
  const written = [...named('flows', flows), ...named('levels', levels)];
  if (written.length === 0) return;
  const kept = read.flatMap((part) => (ArrayBuffer.isView(part) ? [part] : Object.values(part ?? {}))).filter(isArray);
  const issues = written.flatMap(([path, array], k) => {
    const twin = written.slice(0, k).find(([, other]) => overlap(array, other));
    if (twin === undefined && !kept.some((other) => overlap(array, other))) return [];
    return [
      {
        code: 'shared-array',
        where: { path },
        received: twin === undefined ? 'an array that the run reads' : `the array of \`${twin[0].join('.')}\``,
        expected: 'an array of its own: it is overwritten',
        hint: 'hand over what makeFlows and makeLevels made, or the flows of an earlier run',
      },
    ];
  });
  if (issues.length > 0) throw new InputError(issues);
}

function named(name: string, arrays: object | undefined): [path: string[], array: ArrayBufferView][] {
  return Object.entries(arrays ?? {})
    .filter((entry): entry is [string, ArrayBufferView] => isArray(entry[1]))
    .map(([field, array]) => [[name, field], array]);
}

function isArray(value: unknown): value is ArrayBufferView {
  return ArrayBuffer.isView(value);
}

/** Whether two arrays have bytes in common. */
function overlap(a: ArrayBufferView, b: ArrayBufferView): boolean {
  return (
    a.buffer === b.buffer && a.byteOffset < b.byteOffset + b.byteLength && b.byteOffset < a.byteOffset + a.byteLength
  );
}
