import type { SettingsReport } from '@duskbank/core/study';

const clock = (minute: number) =>
  `${String(Math.floor(minute / 60)).padStart(2, '0')}:${String(minute % 60).padStart(2, '0')}`;
const windowOf = ({ fromMinute, toMinute }: { fromMinute: number; toMinute: number }) => ({
  from: clock(fromMinute),
  to: clock(toMinute),
});

/** A printed sheet as somebody types it in, with another reserve and every window that charges filled up to so much at the least. */
export function typedIn(
  { schedules, gridChargeKw, reservePercent }: SettingsReport['sheet'],
  more: {
    readonly reservePercent?: number | null;
    readonly toTargetPercent?: number | null;
    readonly reserveByMonth?: readonly { readonly months: readonly number[]; readonly percent: number }[];
  } = {},
) {
  return {
    reservePercent: more.reservePercent ?? reservePercent,
    ...(more.reserveByMonth === undefined ? {} : { reserveByMonth: more.reserveByMonth }),
    ...(gridChargeKw > 0 ? { chargeKw: gridChargeKw } : {}),
    schedules: schedules.map(({ months, days, charge, chargeToPercent, discharge }) => ({
      months,
      days,
      ...(charge === null
        ? {}
        : {
            charge: {
              ...windowOf(charge),
              toPercent: chargeToPercent === 0 ? 0 : Math.max(chargeToPercent, more.toTargetPercent ?? 0),
            },
          }),
      ...(discharge === null ? {} : { carry: windowOf(discharge) }),
    })),
  };
}
