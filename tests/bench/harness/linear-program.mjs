// A problem of a battery as a linear program for an outside solver.
import highsLoader from 'highs';
import { processorMs } from './rounds.mjs';

/** Import, export, charge, discharge and stored energy an interval. */
function modelOf(p) {
  const n = p.netLoadKwh.length;
  const charges = p.demandCharges ?? [];
  const peaks = charges.length === 0 ? 0 : Math.max(...charges[0].period) + 1;
  const numCols = 5 * n + peaks;
  const colCost = new Float64Array(numCols);
  const colLower = new Float64Array(numCols);
  const colUpper = new Float64Array(numCols).fill(Infinity);
  const starts = [];
  const indices = [];
  const values = [];
  const rowLower = [];
  const rowUpper = [];
  const row = (low, high, ...entries) => {
    starts.push(indices.length);
    rowLower.push(low);
    rowUpper.push(high);
    for (const [column, value] of entries) {
      indices.push(column);
      values.push(value);
    }
  };
  for (let i = 0; i < n; i++) {
    const c = 5 * i;
    colCost[c] = p.importPricePerKwh[i];
    colCost[c + 1] = -p.exportPricePerKwh[i];
    colUpper[c + 2] = p.chargeLimitKw * p.stepHours;
    colUpper[c + 3] = p.dischargeLimitKw * p.stepHours;
    colLower[c + 4] = p.floorKwh;
    colUpper[c + 4] = p.capacityKwh;
    row(p.netLoadKwh[i], p.netLoadKwh[i], [c, 1], [c + 1, -1], [c + 2, -1], [c + 3, 1]);
    const flows = [
      [c + 4, 1],
      [c + 2, -p.chargeEfficiency],
      [c + 3, 1 / p.dischargeEfficiency],
    ];
    if (i === 0) row(p.initialKwh, p.initialKwh, ...flows);
    else row(0, 0, ...flows, [c - 1, -1]);
    if (peaks > 0) row(-Infinity, 0, [c, 1 / p.stepHours], [5 * n + charges[0].period[i], -1]);
  }
  for (let g = 0; g < peaks; g++) colCost[5 * n + g] = charges[0].pricePerKw;
  return {
    numCols,
    numRows: rowLower.length,
    colCost,
    colLower,
    colUpper,
    rowLower,
    rowUpper,
    matrix: {
      format: 'csr',
      numRows: rowLower.length,
      numCols,
      starts: [...starts, indices.length],
      indices,
      values,
    },
  };
}

/** `solve()` finds the least cost by the simplex method; `ms` is the processor's time in the solver alone, `cost` what it found. */
export async function solverOf(problem) {
  const highs = await highsLoader();
  const data = modelOf(problem);
  return () =>
    highs.withModel(data, (model) => {
      model.options.set('output_flag', false);
      model.options.set('solver', 'simplex');
      const begun = processorMs();
      model.run();
      return { ms: processorMs() - begun, cost: Number(model.info.get('objective_function_value')) };
    });
}
