import { CHANNELS, channelField, type IntervalData } from '@duskbank/core/meter';

/** What was read of a file: its channels, their series, and every finding with what it is told by. */
export function readOf({ series, findings, layout }: IntervalData) {
  return {
    series: series === undefined ? 'none' : { ...series, axis: { ...series.axis, calendar: undefined } },
    channels: series === undefined ? [] : CHANNELS.filter((channel) => series[channelField(channel)] !== undefined),
    codes: findings.map(({ code, severity }) => `${severity} ${code}`).join(', '),
    findings,
    layout,
  };
}
