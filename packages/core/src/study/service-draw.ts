import { formatDate } from '../axis/index.ts';
import type { SettingsSheet, SheetSchedule } from '../dispatch/index.ts';
import { holdsIn, inWindow } from '../dispatch/inside.ts';
import { panelCapacityVa } from '../outage/index.ts';
import type { Flows } from '../plant/index.ts';
import type { Study } from '../site/index.ts';
import { type Fact, fact } from '../words/fact.ts';
import { clockOf } from '../words/figures.ts';
import { STUDY_WORDS } from '../words/study.ts';
import type { SettingsReport } from './settings-schema.ts';

/**
 * The most that the home draws from the grid, and the most were the battery charging with the sheet's power in all of its
 * windows: how full it then is hangs on the day before, so that every interval of a window counts.
 *
 * @param without the home without a battery
 */
export function serviceDraw(
  { home, site, siteService, meteredStepMinutes }: Study,
  sheet: Pick<SettingsSheet, 'schedules' | 'gridChargeKw' | 'reservePercent'>,
  without: Pick<Flows, 'importKwh' | 'exportKwh'>,
): SettingsReport['service'] {
  const { axis } = home;
  const { minuteOfDay, days, day } = axis.calendar;
  const buys = ({ charge, chargeToPercent }: SheetSchedule) =>
    charge !== null && sheet.gridChargeKw > 0 && chargeToPercent > sheet.reservePercent;
  const most = { kw: 0, interval: 0 };
  const charging = { kw: 0, interval: 0 };
  const note = (of: typeof most, kw: number, interval: number) => {
    if (kw > of.kw) Object.assign(of, { kw, interval });
  };
  for (let i = 0; i < axis.intervals; i++) {
    const drawnKw = without.importKwh[i]! / axis.stepHours;
    note(most, drawnKw, i);
    const schedule = sheet.schedules.find((each) => holdsIn(axis, each, i));
    if (schedule === undefined || !buys(schedule) || !inWindow(schedule.charge!, minuteOfDay[i]!)) continue;
    note(charging, drawnKw - without.exportKwh[i]! / axis.stepHours + sheet.gridChargeKw, i);
  }
  const localOf = (i: number) => `${formatDate(days[day[i]!]!)} ${clockOf(minuteOfDay[i]!)}`;
  const { importLimitKw } = siteService;
  const panel = site.backup?.panel;
  return {
    highestKw: most.kw,
    at: localOf(most.interval),
    whileChargingKw: charging.kw > 0 ? charging.kw : null,
    whileChargingAt: charging.kw > 0 ? localOf(charging.interval) : null,
    limitKw: Number.isFinite(importLimitKw) ? importLimitKw : null,
    mainContinuousKw: panel === undefined ? null : panelCapacityVa(panel.mainAmps, panel.volts).continuousVa / 1000,
    stepMinutes: meteredStepMinutes,
  };
}

/** Told where the sheet's charging may bring the home above what its service or main breaker lets through. */
export function aboveService(draw: SettingsReport['service'], gridChargeKw: number): Fact[] {
  const { highestKw, whileChargingKw, whileChargingAt, limitKw, mainContinuousKw } = draw;
  if (whileChargingKw === null || whileChargingKw <= highestKw) return [];
  const above = (of: 'service' | 'main-breaker', most: number | null, path: string[]) =>
    most === null || whileChargingKw <= most + 1e-9
      ? []
      : [
          fact(
            STUDY_WORDS,
            'charging-above-service',
            'warning',
            { of, mostKw: most, highestKw, whileChargingKw, at: whileChargingAt!, gridChargeKw },
            { path },
          ),
        ];
  return [
    ...above('service', limitKw, ['service', 'importLimitKw']),
    ...above('main-breaker', mainContinuousKw, ['backup', 'panel', 'mainAmps']),
  ];
}
