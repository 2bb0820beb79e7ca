import { aimOfRun, DUST, plainSchedule, type Schedule, settleValues, worthOfGiving } from './along-plan.ts';
import type { Plan } from './backward.ts';
import type { StepProblem } from './problem.ts';
import { EXPORT, GRID, SERVE, SURPLUS } from './shape.ts';

/** Whether {@link followPlain} may follow a plan of these steps. */
export function isFollowedPlainly(problem: StepProblem, plan: Plan): boolean {
  return problem.plain && problem.decay === 0 && problem.importCapKwh === undefined && plan.convex;
}

/**
 * What `followForward` does, where nothing but the battery's own limits binds: a loop for each thing that a run of steps
 * can do (take in surplus and grid energy, give to load and grid, or nothing), in place of one that asks each step
 * everything. It comes to the same, figure for figure, since a run has one sign of net load, one price, one band, and one
 * amount of each kind to spread over its steps: as early as may be what it stores, as late as may be what it gives.
 */
export function followPlain(problem: StepProblem, plan: Plan): Schedule {
  const { intervals: n, netLoadKwh, importPricePerKwh, exportPricePerKwh, lowKwh, highKwh } = problem;
  const { chargeLimitKwh, dischargeLimitKwh, batteryExport, wearPerKwh } = problem;
  const { chargeEfficiency, acPerCharged, dischargeEfficiency, storedPerAc } = problem;
  const chargeKwh = new Float64Array(n);
  const dischargeKwh = new Float64Array(n);
  const socKwh = new Float64Array(n);
  const marginal = new Float64Array(n);
  let most = 0;
  for (let i = 0; i < n; i++) if (highKwh[i]! > most) most = highKwh[i]!;
  const dust = DUST * most;
  /** Stored kWh by kind: what the run stores, or what it leaves unused of what it could give. */
  const left = new Float64Array(EXPORT + 1);
  const slopeOf = new Float64Array(EXPORT + 1);
  const none = Number.NEGATIVE_INFINITY;
  let soc = problem.initialKwh;
  let cost = 0;
  let at = plan.used;
  let first = 0;
  for (let run = plan.runs - 1; run >= 0; run--) {
    const last = at;
    at -= plan.counts[run]!;
    const end = first + plan.lengths[run]!;
    const begun = soc;
    let target = aimOfRun(plan, at, at + plan.charges[run]!, last, soc, dust, left);
    for (let k = at; k < last; k++) slopeOf[plan.kind[k]!] = plan.slope[k]!;
    const surplus = netLoadKwh[first]! < 0;
    const high = highKwh[first]!;
    const low = lowKwh[first]!;
    if (target > high) target = high;
    else if (target < low) target = low;
    const importPrice = importPricePerKwh[first]!;
    const exportPrice = exportPricePerKwh[first]!;
    const sell = batteryExport ? slopeOf[EXPORT]! : none;
    const serve = slopeOf[SERVE]!;
    if (target > begun) {
      let openSurplus = surplus ? left[SURPLUS]! : 0;
      let openGrid = left[GRID]!;
      for (let i = first; i < end; i++) {
        const net = netLoadKwh[i]!;
        const limit = chargeLimitKwh[i]!;
        let worth = none;
        let charge = 0;
        let rest = limit;
        if (surplus) {
          const fits = limit < -net ? limit : -net;
          rest -= fits;
          const wide = fits * chargeEfficiency;
          const take = openSurplus < wide ? openSurplus : wide;
          openSurplus -= take;
          if (take > dust) {
            worth = slopeOf[SURPLUS]!;
            soc += take;
            charge = take * acPerCharged;
          }
        }
        if (openGrid > 0) {
          const wide = rest * chargeEfficiency;
          const take = openGrid < wide ? openGrid : wide;
          openGrid -= take;
          if (take > dust) {
            worth = slopeOf[GRID]!;
            soc += take;
            charge += take * acPerCharged;
          }
        }
        if (charge > 0) chargeKwh[i] = charge;
        else worth = worthOfGiving(net, dischargeLimitKwh[i]!, storedPerAc, dust, serve, sell);
        if (i === end - 1) soc = target;
        else if (soc > high) soc = high;
        const flow = net + charge;
        cost += (flow > 0 ? importPrice : exportPrice) * flow;
        socKwh[i] = soc;
        marginal[i] = worth;
      }
    } else if (target < begun) {
      let idleServe = surplus ? 0 : left[SERVE]!;
      let idleSell = left[EXPORT]!;
      for (let i = first; i < end; i++) {
        const net = netLoadKwh[i]!;
        const limit = dischargeLimitKwh[i]!;
        let worth = none;
        let discharge = 0;
        let rest = limit;
        if (!surplus) {
          const fits = net < limit ? net : limit;
          rest -= fits;
          const wide = fits * storedPerAc;
          const idle = idleServe < wide ? idleServe : wide;
          idleServe -= idle;
          if (idle > dust) worth = serve;
          if (wide - idle > dust) {
            soc -= wide - idle;
            discharge = (wide - idle) * dischargeEfficiency;
          }
        }
        if (batteryExport) {
          const wide = rest * storedPerAc;
          const idle = idleSell < wide ? idleSell : wide;
          idleSell -= idle;
          if (idle > dust && worth === none) worth = sell;
          if (wide - idle > dust) {
            soc -= wide - idle;
            discharge += (wide - idle) * dischargeEfficiency;
          }
        }
        if (discharge > 0) dischargeKwh[i] = discharge;
        if (i === end - 1) soc = target;
        else if (soc < low) soc = low;
        const flow = net - discharge;
        cost += (flow > 0 ? importPrice : exportPrice) * flow + wearPerKwh * discharge;
        socKwh[i] = soc;
        marginal[i] = worth;
      }
    } else {
      soc = target;
      const price = surplus ? exportPrice : importPrice;
      for (let i = first; i < end; i++) {
        const net = netLoadKwh[i]!;
        cost += price * net;
        socKwh[i] = soc;
        marginal[i] = worthOfGiving(net, dischargeLimitKwh[i]!, storedPerAc, dust, serve, sell);
      }
    }
    first = end;
  }
  cost -= settleValues(problem, plan, socKwh, marginal, dust);
  return plainSchedule({ cost, chargeKwh, dischargeKwh, socKwh, marginalValuePerKwh: marginal });
}
