// The demo home, as a core of any version makes it.
import { readFileSync } from 'node:fs';

export const readDemo = (name) => readFileSync(new URL(`../../../fixtures/demo/${name}`, import.meta.url), 'utf8');

/** The home of fixtures/demo over its year of quarter hours, and the tariff file that it is billed by. */
export function demoHome({ makeStudy, parseIntervalData, parseSite, parseTariff, repairGaps }) {
  const site = parseSite(JSON.parse(readDemo('site.json')));
  const { series } = parseIntervalData(readDemo('home.csv'), { zone: site.zone });
  const tariff = JSON.parse(readDemo('tariff.json'));
  return { ...makeStudy({ site, series: repairGaps(series).series, tariff: parseTariff(tariff) }), tariff };
}
