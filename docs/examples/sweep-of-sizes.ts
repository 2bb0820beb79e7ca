import { readFileSync } from 'node:fs';
import { windowFill } from '@duskbank/core/dispatch';
import { islandOf, summarizeBackup } from '@duskbank/core/outage';
import { loadSite } from '@duskbank/core/site';
import { evaluate, withPlant } from '@duskbank/core/trial';

const { case: home, site } = await loadSite('fixtures/demo/site.json', (path) => readFileSync(path));
const { axis, loadKwh, solarKwh } = home;

for (const times of [0.5, 1, 2]) {
  const plant = { ...home.plant, capacityKwh: times * home.plant.capacityKwh };
  // What an outage asks depends on the plant: which circuits it carries, what its gauge may hide.
  const island = islandOf({ axis, plant, backup: site.backup, loadKwh, solarKwh });
  const { bill, backupHours } = evaluate(withPlant(home, plant, island), windowFill, ['bill', 'backupHours']);
  const { p10 } = summarizeBackup(axis, backupHours!).allHours;
  console.log(
    `${plant.capacityKwh.toFixed(1)} kWh: ${bill.total.toFixed(2)} a year, ${p10.toFixed(1)} h in 9 of 10 starts`,
  );
}
