import { DUST, plainSchedule, type Schedule, settleValues, worthOfGiving } from '../along-plan.ts';
import type { StepProblem } from '../problem.ts';
import { BUY, OWN, type Runs, SELL, slopesAt } from './plan.ts';
import { WAYS } from './values.ts';

/** Follows the levels from the start: what is left of a kWh at its run's end is what it counts. */
export function followRuns(problem: StepProblem, plan: Runs): Schedule {
  const { intervals: n, netLoadKwh, importPricePerKwh, exportPricePerKwh, decay, initialKwh, wearPerKwh } = problem;
  const { chargeLimitKwh, dischargeLimitKwh, batteryExport } = problem;
  const { chargeEfficiency, acPerCharged, dischargeEfficiency, storedPerAc } = problem;
  const low = problem.lowKwh[0]!;
  const high = problem.highKwh[0]!;
  const chargeKwh = new Float64Array(n);
  const dischargeKwh = new Float64Array(n);
  const socKwh = new Float64Array(n);
  const marginal = new Float64Array(n);
  const dust = DUST * high;
  const none = Number.NEGATIVE_INFINITY;
  const left = 1 - decay;
  const slope = new Float64Array(WAYS);
  let soc = initialKwh;
  let cost = 0;
  for (let run = plan.count - 1; run >= 0; run--) {
    const first = plan.begin[run]!;
    const end = run === 0 ? n : plan.begin[run - 1]!;
    const at = WAYS * run;
    const surplus = netLoadKwh[first]! < 0;
    const importPrice = importPricePerKwh[first]!;
    const exportPrice = exportPricePerKwh[first]!;
    slopesAt(problem, first, slope);
    const buyWorth = slope[BUY]!;
    const ownWorth = slope[OWN]!;
    const sellWorth = batteryExport ? slope[SELL]! : none;
    const whole = left ** (end - first);
    const held = low + (soc - low) * whole;

    // What the run stores or gives by each way, kWh at its end.
    let aim = held;
    let own = 0;
    let buy = 0;
    let sell = 0;
    if (surplus) {
      own = Math.max(0, Math.min(plan.width[at + OWN]!, plan.level[at + OWN]! - aim));
      if (own <= dust) own = 0;
      aim += own;
    }
    if (!surplus || own === plan.width[at + OWN]) {
      buy = Math.max(0, Math.min(plan.width[at + BUY]!, plan.level[at + BUY]! - aim));
      if (buy <= dust) buy = 0;
      aim += buy;
    }
    const stores = aim > held;
    if (!stores) {
      if (!surplus) {
        own = Math.max(0, Math.min(plan.width[at + OWN]!, aim - plan.level[at + OWN]!));
        if (own <= dust) own = 0;
        aim -= own;
      }
      if (surplus || own >= plan.width[at + OWN]! - dust) {
        sell = Math.max(0, Math.min(plan.width[at + SELL]!, aim - plan.level[at + SELL]!));
        if (sell <= dust) sell = 0;
        aim -= sell;
      }
    }
    if (aim > high) aim = high;
    else if (aim < low) aim = low;

    /** What is left at the run's end of a kWh after the step. */
    let share = whole / left;
    if (stores) {
      // As late as may be: the first steps stay idle.
      let idleOwn = surplus ? plan.width[at + OWN]! - own : 0;
      let idleBuy = plan.width[at + BUY]! - buy;
      for (let i = first; i < end; i++) {
        const net = netLoadKwh[i]!;
        const limit = chargeLimitKwh[i]!;
        let worth = none;
        let charge = 0;
        let rest = limit;
        soc = low + (soc - low) * left;
        if (surplus) {
          const fits = limit < -net ? limit : -net;
          rest -= fits;
          const wide = fits * chargeEfficiency;
          const idle = idleOwn < wide * share ? idleOwn : wide * share;
          idleOwn -= idle;
          const take = wide - idle / share;
          if (take > dust) {
            worth = ownWorth;
            soc += take;
            charge = take * acPerCharged;
          }
        }
        if (buy > 0) {
          const wide = rest * chargeEfficiency;
          const idle = idleBuy < wide * share ? idleBuy : wide * share;
          idleBuy -= idle;
          const take = wide - idle / share;
          if (take > dust) {
            worth = buyWorth;
            soc += take;
            charge += take * acPerCharged;
          }
        }
        if (charge > 0) chargeKwh[i] = charge;
        else worth = worthOfGiving(net, dischargeLimitKwh[i]!, storedPerAc, dust, ownWorth, sellWorth);
        if (i === end - 1) soc = aim;
        else if (soc > high) soc = high;
        const flow = net + charge;
        cost += (flow > 0 ? importPrice : exportPrice) * flow;
        socKwh[i] = soc;
        marginal[i] = worth;
        share /= left;
      }
    } else {
      // As early as may be.
      for (let i = first; i < end; i++) {
        const net = netLoadKwh[i]!;
        const limit = dischargeLimitKwh[i]!;
        let worth = none;
        let discharge = 0;
        let rest = limit;
        soc = low + (soc - low) * left;
        if (!surplus) {
          const fits = net < limit ? net : limit;
          rest -= fits;
          const wide = fits * storedPerAc;
          const give = own < wide * share ? own : wide * share;
          own -= give;
          const out = give / share;
          if (wide - out > dust) worth = ownWorth;
          if (out > dust) {
            soc -= out;
            discharge = out * dischargeEfficiency;
          }
        }
        if (batteryExport) {
          const wide = rest * storedPerAc;
          const give = sell < wide * share ? sell : wide * share;
          sell -= give;
          const out = give / share;
          if (wide - out > dust && worth === none) worth = sellWorth;
          if (out > dust) {
            soc -= out;
            discharge += out * dischargeEfficiency;
          }
        }
        if (discharge > 0) dischargeKwh[i] = discharge;
        if (i === end - 1) soc = aim;
        else if (soc < low) soc = low;
        const flow = net - discharge;
        cost += (flow > 0 ? importPrice : exportPrice) * flow + wearPerKwh * discharge;
        socKwh[i] = soc;
        marginal[i] = worth;
        share /= left;
      }
    }
  }
  cost -= settleValues(problem, undefined, socKwh, marginal, dust);
  return plainSchedule({ cost, chargeKwh, dischargeKwh, socKwh, marginalValuePerKwh: marginal });
}
