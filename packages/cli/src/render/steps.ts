import type { SwitchStep } from '@duskbank/core/study';
import { fixed } from './numbers.ts';
import type { Span } from './span.ts';
import { cellName, heading, shortened, table } from './text.ts';

const STEP_WORDS = {
  today: 'today',
  'best-tariff': 'best tariff',
  'planned-solar': 'planned solar',
  battery: 'battery',
};

/** The way from today's bill to the plan, a line a step; the changes sum to the cent. */
export function stepsTable(
  steps: readonly SwitchStep[],
  currency: string,
  decimals: number,
  { factor, head }: Span,
): string {
  const grid = table(
    [
      { head: 'step' },
      { head: 'on' },
      { head: 'run as' },
      { head: `${currency}\n${head}`, align: 'right' },
      { head: 'change', align: 'right' },
    ],
    steps.map((step) => [
      STEP_WORDS[step.step],
      shortened(cellName(step.tariff), 28),
      step.strategy ?? '',
      fixed(factor * step.total, decimals),
      step.step === 'today' ? '' : fixed(factor * step.change, decimals),
    ]),
  );
  return `${heading('Step by step')}\n${grid}`;
}
