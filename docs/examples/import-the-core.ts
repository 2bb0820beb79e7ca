import { readFileSync } from 'node:fs';
import { parseIntervalData, repairGaps } from '@duskbank/core/meter';
import { parseSite } from '@duskbank/core/site';
import { compare, makeStudy } from '@duskbank/core/study';
import { parseTariff } from '@duskbank/core/tariff';

// The core reads no files: what it works on is handed to it.
const folder = 'fixtures/demo';
const site = parseSite(JSON.parse(readFileSync(`${folder}/site.json`, 'utf8')));
const tariff = parseTariff(JSON.parse(readFileSync(`${folder}/${site.tariff}`, 'utf8')));
const metered = parseIntervalData(readFileSync(`${folder}/home.csv`), { zone: site.zone });
if (metered.series === undefined) throw new Error(metered.findings.map((finding) => finding.message).join('\n'));

const { series } = repairGaps(metered.series);
const study = makeStudy({ site, series, findings: metered.findings, tariff });
const report = compare(study);
for (const { strategy, savings, backupHours } of report.strategies)
  if (savings !== null && backupHours !== null)
    console.log(`${strategy} saves ${savings.toFixed(2)} and leaves ${backupHours.median.toFixed(1)} h of backup`);
