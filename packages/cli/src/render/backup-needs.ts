import { quoteName } from '@duskbank/core/input';
import type { BackupNeedsReport } from '@duskbank/core/study';
import { otherCautions } from './cautions.ts';
import { spanText } from './home.ts';
import { fixed, fixedBound } from './numbers.ts';
import { cellName, heading, nameHeading, table, wrap } from './text.ts';

const kva = (va: number) => fixed(va / 1000, 1);

/** What a home without a battery asks of one: energy first, then power, then what can't be said. */
export function backupNeedsText(report: BackupNeedsReport): string {
  const { circuits, energy, medical, togetherVa, hardestStart } = report;
  const load = circuits.length > 0 ? `these ${circuits.length} circuits` : 'the whole home';
  const caution = report.cautions.find(({ code }) => code === 'medical');
  const parts = [
    [
      nameHeading(report.site, ': what a battery would have to carry'),
      wrap(`No battery is stated. Over ${spanText(report.axis)}.`),
      ...(medical && caution !== undefined ? [wrap(`! ${caution.text}`, 80, '  ')] : []),
    ].join('\n'),
  ];
  if (energy !== null)
    parts.push(
      [
        heading(`Energy that ${load} take${circuits.length > 0 ? '' : 's'} with the grid down, kWh at the outlets`),
        table(
          [
            { head: 'hours', align: 'right' },
            { head: 'usual', align: 'right' },
            { head: '9 of 10\noutages', align: 'right' },
            { head: 'hungriest\nof all', align: 'right' },
          ],
          energy.map((row) => [
            fixed(row.hours, Number.isInteger(row.hours) ? 0 : 1),
            fixed(row.usualKwh, 1),
            fixed(row.nineInTenKwh, 1),
            fixed(row.mostKwh, 1),
          ]),
        ),
        wrap('A battery has to hold more: what its inverter loses and draws, and its reserve, come on top.'),
      ].join('\n'),
    );
  const power = [
    ...(togetherVa === null
      ? []
      : [`All of them running at once: ${kva(togetherVa)} kVA, whatever the hour (starts come on top).`]),
    ...(hardestStart === null
      ? []
      : [`The hardest start: ${kva(hardestStart.startVa)} kVA, ${quoteName(hardestStart.circuit)}.`]),
    `The metered home: ${fixedBound(report.measured.maximumKw, 'up', 2)} kW at most; × 125 % = ${kva(report.measured.totalVa)} kVA to back it up whole, an estimate${report.wiringRules === 'us' ? '' : ' as reckoned in the United States; your code counts'}.`,
  ];
  parts.push(`${heading('Power')}\n${power.map((line) => wrap(`- ${line}`, 80, '  ')).join('\n')}`);
  if (circuits.length > 0)
    parts.push(
      table(
        [
          { head: 'circuit, by priority' },
          { head: 'leg' },
          { head: 'running\nkVA', align: 'right' },
          { head: 'start\nkVA', align: 'right' },
          { head: 'mean\nW', align: 'right' },
        ],
        circuits.map((circuit) => [
          cellName(circuit.name),
          circuit.leg,
          kva(circuit.runningVa),
          circuit.startVa === null ? 'read LRA' : kva(circuit.startVa),
          fixed(circuit.meanW, 0),
        ]),
      ),
    );
  if (report.findings.length > 0)
    parts.push(
      `${heading('Please check')}\n${report.findings.map((finding) => wrap(`? ${finding.message}`, 80, '  ')).join('\n')}`,
    );
  parts.push(
    [
      heading('Not answered without a battery ("plant" in the site file)'),
      ...report.notAnswered.map((line) => wrap(`- ${line}`, 80, '  ')),
      wrap(`Basis: ${report.basis}.`),
    ].join('\n'),
    otherCautions(report.cautions),
  );
  if (report.warnings.length > 0)
    parts.push(report.warnings.map((warning) => wrap(`! ${warning.message}`, 80, '  ')).join('\n'));
  return parts.join('\n\n');
}
