import type { Caution } from '@duskbank/core/outage';
import { wrap } from './text.ts';

/** The cautions that close a report; the medical one opened it. */
export function otherCautions(cautions: readonly Pick<Caution, 'code' | 'text'>[]): string {
  return cautions
    .filter((caution) => caution.code !== 'medical')
    .map((caution) => wrap(`! ${caution.text}`, 80, '  '))
    .join('\n');
}
