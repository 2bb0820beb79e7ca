import type { Caution } from '@duskbank/core/outage';
import { wrap } from './text.ts';

/** What a home that depends on power does apart from any battery, in short. */
export const HEALTH_ASK =
  'Somebody’s health depends on power? Have a plan apart from this battery, and ask for the utility’s list of homes with medical equipment.';

/** What stands under every figure of money and backup. */
export const HEALTH_CAUTION =
  'For a home that depends on power for somebody’s health no figure here is a plan: ask for the utility’s ' +
  'list of homes with medical equipment and have a plan apart from this. Wiring and transfer equipment are a licensed person’s work under the local code.';

/** The cautions that close a report; the medical one opened it. */
export function otherCautions(cautions: readonly Pick<Caution, 'code' | 'text'>[]): string {
  return cautions
    .filter((caution) => caution.code !== 'medical')
    .map((caution) => wrap(`! ${caution.text}`, 80, '  '))
    .join('\n');
}
