// The bill, line by line: docs/concepts/tariff.md, "Terms, one by one".

import { type Document, dayOfText, listOf, minutesOf, partsOf } from './days.ts';
import { Exact, roundingOf, stated } from './money.ts';
import { type Charge, fallsOn, type LaidTariff, mostShare, type Part, percentagesOf, type Version } from './tariff.ts';

export interface CheckedLine {
  readonly kind: string;
  readonly name: string;
  readonly part: string;
  readonly supplier: string | undefined;
  /** The version that it belongs to. */
  readonly version: number;
  readonly amount: Exact;
}

export interface CheckedBill {
  readonly periods: readonly { readonly lines: readonly CheckedLine[]; readonly total: number }[];
  readonly total: number;
}

/** Flows at the service, kWh an interval. */
export interface CheckedFlows {
  readonly importKwh: Float64Array;
  readonly exportKwh: Float64Array;
}

/** Kilowatt-hours of one price and window in one bill: what export may offset. */
interface Group {
  readonly period: number;
  readonly version: Version;
  readonly window: string;
  /** The part of each charge that its energy is billed at. */
  readonly parts: ReadonlyMap<Charge, { name: string; price: number; blocks?: readonly Document[] }>;
  importKwh: number;
  exportKwh: number;
  dueKwh: number;
  leftKwh: number;
}

export function billOf(laid: LaidTariff, flows: CheckedFlows): CheckedBill {
  const rounding = roundingOf(laid.document);
  const { intervals, periods, periodAt, account } = laid;
  const { day, count } = intervals;
  const round = (value: Exact) => (rounding.at === 'line' ? rounding.money(value) : value);
  const groups = netted(laid, flows);
  const sale = (laid.document.export ?? {}) as Document;
  const inMoney = sale.kind === 'net-metering' && sale.carry === 'money';
  const netKwh = flows.importKwh.map((kwh, i) => kwh - flows.exportKwh[i]!);
  const peaks = new Map<string, number[]>();
  let carriedMoney = new Exact(Number(account.carriedMoney ?? 0));

  const bills = periods.map((period, p) => {
    const lines: CheckedLine[] = [];
    const inPeriod: number[] = [];
    for (let i = 0; i < count; i++) if (periodAt[i] === p) inPeriod.push(i);
    const days = [...new Set(inPeriod.map((i) => day[i]!))];
    const fullDays = period.end - period.first;
    const here = laid.versions.filter((version) => days.some((d) => laid.versionOfDay(d) === version));
    const last = laid.versionOfDay(days.at(-1)!);
    const lastBill = p === periods.length - 1;

    /** Days of a version in this bill, in some seasons where it is limited to them. */
    const daysOf = (version: Version, seasons?: readonly string[]) =>
      days.filter(
        (d) =>
          laid.versionOfDay(d) === version && (seasons === undefined || seasons.includes(laid.seasonAt(version, d))),
      );
    /** Days as a share of a month. */
    const monthShare = (some: number) => {
      const billing = (laid.document.billing ?? {}) as Document;
      // Of the whole months that it is nearest to, of one at least; of its days where that is more than five days off.
      const months = Math.max(1, Math.round((fullDays * 12) / 365.25));
      const daysOff = Math.abs(fullDays - (months * 365.25) / 12);
      if (billing.monthDays === undefined)
        return daysOff > 5 && fullDays > 31
          ? new Exact(some).times(12).div(365.25)
          : new Exact(some).times(months).div(fullDays);
      const share = new Exact(some).div(billing.monthDays as number);
      return billing.monthDecimals === undefined ? share : share.toDecimalPlaces(billing.monthDecimals as number, 4);
    };
    const add = (
      kind: string,
      charge: { name: string; supplier?: string | undefined },
      part: string,
      version: Version,
      amount: Exact,
    ) => {
      if (!amount.isZero())
        lines.push({
          kind,
          name: charge.name,
          part,
          supplier: charge.supplier,
          version: version.index,
          amount: round(amount),
        });
    };

    for (const version of here) {
      const mine = inPeriod.filter((i) => laid.versionOfDay(day[i]!) === version);
      const blockEnds = (
        blocks: readonly Document[],
        charge: Charge,
        windowSeasons: readonly string[] | undefined,
        d?: number,
      ) => {
        const baseline = (some: readonly number[]) =>
          some.reduce((sum, each) => {
            const allowance = listOf(version.document.baseline as Document[]).find(
              (entry) =>
                (entry.seasons === undefined ||
                  listOf(entry.seasons as string).includes(laid.seasonAt(version, each))) &&
                (entry.zone === undefined || entry.zone === account.baselineZone),
            );
            return sum.plus(allowance!.kwhPerDay as number);
          }, new Exact(0));
        const some = d === undefined ? daysOf(version, charge.seasons ?? windowSeasons) : [d];
        return blocks.map((block) => {
          if (block.upToKwh !== undefined)
            return d === undefined
              ? monthShare(some.length)
                  .times(block.upToKwh as number)
                  .toNumber()
              : Number(block.upToKwh);
          if (block.upToKwhPerDay !== undefined) return Number(block.upToKwhPerDay) * some.length;
          if (block.upToBaseline !== undefined)
            return baseline(some)
              .times(block.upToBaseline as number)
              .toNumber();
          return Number.POSITIVE_INFINITY;
        });
      };
      const inBlocks = (kwh: number, ends: readonly number[]): number[] =>
        ends.map((end, k) => {
          const start = k === 0 ? (kwh < 0 ? Number.NEGATIVE_INFINITY : 0) : ends[k - 1]!;
          return k === 0 ? Math.min(kwh, end) : Math.max(0, Math.min(kwh, end) - start);
        });

      for (const charge of version.charges) {
        const sign = charge.kind === 'export' ? -1 : 1;
        const netting = groups !== undefined && charge.kind === 'energy' && !charge.nonBypassable;
        // With credit in money what is exported earns the price of its own minute: no kWh waits for another.
        const kwhOf =
          charge.kind === 'export' ? flows.exportKwh : inMoney && !charge.nonBypassable ? netKwh : flows.importKwh;
        const byPart = new Map<string, { price: number; kwh: number }>();
        const count = (name: string, price: number, kwh: number) => {
          const key = `${name}|${price}`;
          const known = byPart.get(key);
          if (known === undefined) byPart.set(key, { price, kwh });
          else known.kwh += kwh;
        };
        // Blocks fill up over the bill or the day, for each part that has blocks of its own.
        const filling = new Map<string, { blocks: readonly Document[]; name: string; d: number; kwh: number }>();
        let sum = 0;
        const put = ({ name, price, blocks }: Pick<Part, 'name' | 'price' | 'blocks'>, kwh: number, d: number) => {
          sum += price * kwh;
          if (blocks === undefined) {
            if (!charge.many) count(name, price, kwh);
            return;
          }
          const key = `${name}|${d}|${JSON.stringify(blocks)}`;
          const known = filling.get(key);
          if (known === undefined) filling.set(key, { blocks, name, d, kwh });
          else known.kwh += kwh;
        };
        if (netting) {
          for (const group of groups)
            if (group.period === p && group.version === version) {
              const part = group.parts.get(charge);
              if (part !== undefined) put(part, group.dueKwh, 0);
            }
        } else {
          // Equal parts are one object: their energy is added up before it is put anywhere.
          const kwhOfPart = new Map<Part, Map<number, number>>();
          for (const i of mine) {
            const d = charge.resets === 'day' ? day[i]! : 0;
            for (const part of charge.partsAt(i)) {
              let byDay = kwhOfPart.get(part);
              if (byDay === undefined) {
                byDay = new Map();
                kwhOfPart.set(part, byDay);
              }
              byDay.set(d, (byDay.get(d) ?? 0) + kwhOf[i]! * part.share);
            }
          }
          for (const [part, byDay] of kwhOfPart) for (const [d, kwh] of byDay) put(part, kwh, d);
        }
        if (charge.many) {
          add(charge.kind, charge, '', version, stated(sum).times(sign));
          continue;
        }
        for (const { blocks, name, d, kwh } of filling.values()) {
          const window = listOf(version.document.windows as Document[]).find((entry) => entry.blocks === blocks);
          const seasons = window?.seasons === undefined ? undefined : (listOf(window.seasons as string) as string[]);
          const ends = blockEnds(blocks, charge, seasons, charge.resets === 'day' ? d : undefined);
          for (const [k, inBlock] of inBlocks(kwh, ends).entries())
            count(`${name} block ${k}`, blocks[k]!.pricePerKwh as number, inBlock);
        }
        for (const [part, { price, kwh }] of byPart)
          add(charge.kind, charge, part, version, rounding.energy(kwh).times(price).times(sign));
      }

      // What is left of netting settles.
      const sold = (version.document.export ?? {}) as Document;
      if (groups !== undefined)
        for (const group of groups)
          if (group.period === p && group.version === version && group.leftKwh > 0)
            add(
              'export',
              { name: (sold.name as string) ?? 'Export credit' },
              group.window,
              version,
              rounding
                .energy(group.leftKwh)
                .times(Number(sold.surplusPerKwh ?? 0))
                .negated(),
            );

      for (const charge of listOf(version.document.fixed as Document[])) {
        if (
          charge.programme !== undefined &&
          !listOf(account.programmes as string[]).includes(charge.programme as string)
        )
          continue;
        const some = daysOf(
          version,
          charge.seasons === undefined ? undefined : (listOf(charge.seasons as string) as string[]),
        ).length;
        const size = listOf(charge.byServiceSize as Document[]).find(
          (entry) => entry.upToAmps === undefined || Number(account.serviceAmps) <= Number(entry.upToAmps),
        );
        const amount = new Exact((size?.amount ?? charge.amount) as number);
        const per = charge.per ?? 'month';
        const quantity =
          per === 'month'
            ? monthShare(some)
            : per === 'day'
              ? new Exact(some)
              : per === 'year'
                ? new Exact(some).div(365)
                : per === 'kva-month'
                  ? monthShare(some).times(account.serviceKva as number)
                  : new Exact(version === last ? 1 : 0);
        add('fixed', charge as never, '', version, amount.times(quantity));
      }

      rebates(version, mine, add);
    }

    demands(here, inPeriod, daysOf, monthShare, add);

    // Percentages of each version on its own lines, the top-up between adjustments and taxes.
    const sum = (some: readonly CheckedLine[]) => some.reduce((total, line) => total.plus(line.amount), new Exact(0));
    // Credits for using so much: whole, of the version on the bill's last day.
    for (const credit of listOf(last.document.usageCredits as Document[])) {
      const kwh = inPeriod.reduce((total, i) => total + flows.importKwh[i]!, 0);
      const least = Number(credit.leastKwh) - 1e-6;
      const below = Number(credit.belowKwh ?? Number.POSITIVE_INFINITY) - 1e-6;
      if (kwh >= least && kwh < below) add('rebate', credit as never, '', last, new Exact(-Number(credit.amount)));
    }
    const percentages = (kind: string) => {
      for (const version of here)
        for (const entry of percentagesOf(version.document, account)) {
          if (entry.kind !== kind) continue;
          const base = sum(lines.filter((line) => line.version === version.index && fallsOn(entry.on, line)));
          add(kind, { name: entry.name }, '', version, base.times(entry.percent).div(100));
        }
    };
    percentages('adjustment');
    const minimum = last.document.minimumBill as Document | undefined;
    if (minimum !== undefined) {
      const least = here.reduce((total, version) => {
        const rule = version.document.minimumBill as Document | undefined;
        if (rule === undefined) return total;
        const amount = new Exact(rule.amount as number);
        if (rule.per === 'bill') return version === last ? total.plus(amount) : total;
        const some = daysOf(version).length;
        return total.plus(rule.per === 'day' ? amount.times(some) : amount.times(monthShare(some)));
      }, new Exact(0));
      const lack = least.minus(sum(lines.filter((line) => fallsOn(minimum.on, line))));
      if (lack.greaterThan(0)) add('minimum', { name: (minimum.name as string) ?? 'Minimum bill' }, '', last, lack);
    }
    percentages('tax');

    // Credit carried on in money.
    const sold = (last.document.export ?? {}) as Document;
    if (sold.carry === 'money') {
      const counted =
        sold.offsets === 'all' ? lines : lines.filter((line) => line.kind === 'energy' || line.kind === 'export');
      const q = sum(counted);
      const due = Exact.max(0, q.minus(carriedMoney));
      const left = Exact.max(0, carriedMoney.minus(q));
      add('carry', { name: 'carried' }, '', last, due.minus(q));
      const settles = lastBill || partsOf(period.end - 1).month === sold.trueUpMonth;
      if (settles) add('carry', { name: 'settled' }, '', last, left.times(Number(sold.settleShare ?? 0)).negated());
      carriedMoney = settles ? new Exact(0) : left;
    }
    const exact = sum(lines);
    return { lines, total: (rounding.at === 'bill' ? rounding.money(exact) : exact).toNumber() };

    /** Pay for using less than usual. */
    function rebates(version: Version, mine: readonly number[], line: typeof add): void {
      for (const event of listOf(version.document.events as Document[])) {
        if (event.rebatePerKwh === undefined) continue;
        const from = minutesOf(event.from as string);
        const to = minutesOf(event.to as string);
        const used = (d: number) => {
          let kwh = 0;
          for (let i = 0; i < count; i++)
            if (day[i] === d && intervals.minuteOfDay[i]! >= from && intervals.minuteOfDay[i]! < to)
              kwh += flows.importKwh[i]!;
          return kwh;
        };
        const called = new Set(
          listOf(version.document.events as Document[]).flatMap((other) =>
            listOf(other.dates as string[]).map(dayOfText),
          ),
        );
        let saved = 0;
        for (const d of listOf(event.dates as string[]).map(dayOfText)) {
          if (!mine.some((i) => day[i] === d)) continue;
          let usual = Number(event.baselineKwh ?? 0);
          if (event.baselineDays !== undefined) {
            const before: number[] = [];
            for (let other = d - 1; other >= day[0]! && before.length < Number(event.baselineDays); other--)
              if (partsOf(other).weekday <= 5 && !laid.isHoliday(version, other) && !called.has(other))
                before.push(other);
            usual = before.length === 0 ? 0 : before.reduce((total, other) => total + used(other), 0) / before.length;
          }
          saved += Math.max(0, usual - used(d));
        }
        line(
          'rebate',
          event as never,
          '',
          version,
          rounding
            .energy(saved)
            .times(event.rebatePerKwh as number)
            .negated(),
        );
      }
    }

    /** Charges on power: one peak over the whole bill, billed at each version's price by its days. */
    function demands(
      versions: readonly Version[],
      some: readonly number[],
      daysIn: typeof daysOf,
      share: typeof monthShare,
      line: typeof add,
    ): void {
      const names = new Set(
        versions.flatMap((version) =>
          listOf(version.document.demand as Document[]).map((charge) => charge.name as string),
        ),
      );
      for (const name of names) {
        const billing = versions.flatMap((version) =>
          listOf(version.document.demand as Document[])
            .filter((charge) => charge.name === name)
            .map((charge) => ({ version, charge })),
        );
        const highest = new Map<number, number>();
        for (const { version, charge } of billing) {
          const averagingMinutes = Number(charge.averagingMinutes ?? 15);
          const step = intervals.stepMinutes;
          const powers = new Map<string, { d: number; kwh: number }>();
          let run = 0;
          let before = '';
          for (const i of some) {
            const block =
              step >= averagingMinutes
                ? `${i}`
                : `${day[i]} ${Math.floor(intervals.minuteOfDay[i]! / averagingMinutes)}`;
            // A block that the clock shows twice is two blocks.
            if (
              block !== before ||
              (i > 0 && intervals.minuteOfDay[i]! < intervals.minuteOfDay[i - 1]! && day[i] === day[i - 1])
            )
              run++;
            before = block;
            if (laid.versionOfDay(day[i]!) !== version || !counts(version, charge, i)) continue;
            const key = `${run}`;
            const known = powers.get(key);
            if (known === undefined) powers.set(key, { d: day[i]!, kwh: flows.importKwh[i]! });
            else known.kwh += flows.importKwh[i]!;
          }
          const hours = Math.max(averagingMinutes, step) / 60;
          for (const { d, kwh } of powers.values()) highest.set(d, Math.max(highest.get(d) ?? 0, kwh / hours));
        }
        const lastCharge = billing.at(-1)!.charge;
        const n = Number(lastCharge.highestDays ?? 1);
        const maxima = [...highest.values()].sort((a, b) => b - a).slice(0, n);
        const measured = maxima.length === 0 ? 0 : maxima.reduce((total, kw) => total + kw, 0) / maxima.length;
        const factor = lastCharge.unit === 'kVA' ? Number(account.powerFactor ?? 1) : 1;
        const ratchet = lastCharge.ratchet as Document | undefined;
        const before = peaks.get(name) ?? [];
        let billed = Math.max(
          measured / factor,
          Number(lastCharge.minimumKw ?? 0),
          Number(lastCharge.contractShare ?? 0) * Number(account.contractKw ?? 0),
        );
        if (ratchet !== undefined) {
          const earlier = listOf(account.earlierPeaksKw as number[]);
          for (let k = 1; k <= Number(ratchet.months); k++) {
            const index = p - k;
            const peak = index >= 0 ? ratchetPeak(before, index, ratchet) : (earlier[-index - 1] ?? 0);
            billed = Math.max(billed, peak * Number(ratchet.share));
          }
        }
        before[p] = measured / factor;
        peaks.set(name, before);
        const kw = rounding.energy(billed);
        for (const { version, charge } of billing) {
          const limited = charge.seasons === undefined ? undefined : (listOf(charge.seasons as string) as string[]);
          const own = daysIn(version, limited).length;
          if (own === 0) continue;
          const steps = charge.steps as Document[] | undefined;
          if (steps !== undefined) {
            const step = steps.find(
              (entry) => entry.upToKw === undefined || kw.lessThanOrEqualTo(entry.upToKw as number),
            )!;
            line('demand', charge as never, '', version, share(own).times(step.amount as number));
          } else if (charge.pricePerKwDay !== undefined)
            line('demand', charge as never, '', version, kw.times(charge.pricePerKwDay as number).times(own));
          else line('demand', charge as never, '', version, kw.times(charge.pricePerKw as number).times(share(own)));
        }
      }
    }

    function ratchetPeak(before: readonly number[], index: number, ratchet: Document): number {
      const lastDay = periods[index]!.end - 1;
      const season = laid.seasonAt(last, lastDay);
      if (ratchet.seasons !== undefined && !listOf(ratchet.seasons as string).includes(season)) return 0;
      return before[index] ?? 0;
    }

    function counts(version: Version, charge: Document, i: number): boolean {
      if (charge.seasons !== undefined && !listOf(charge.seasons as string).includes(laid.seasonAt(version, day[i]!)))
        return false;
      if (charge.inWindows !== undefined) {
        const windows = listOf(version.document.windows as Document[]);
        if (!listOf(charge.inWindows as string).includes(windows[laid.mainWindowAt(version, i)]!.name as string))
          return false;
      }
      if (charge.from === undefined && charge.days === undefined && charge.months === undefined) return true;
      return laid.mostlyWithin(version, charge, i);
    }
  });

  const total = bills.reduce((sum, bill) => sum.plus(bill.total), new Exact(0)).toNumber();
  return { periods: bills, total };
}

/** The groups that export offsets import in, all bills together; undefined where the tariff doesn't net. */
function netted(laid: LaidTariff, flows: CheckedFlows): Group[] | undefined {
  const sold = (laid.document.export ?? {}) as Document;
  if (sold.kind !== 'net-metering' || sold.carry === 'money') return undefined;
  const { day, count } = laid.intervals;
  const groups = new Map<string, Group>();
  for (let i = 0; i < count; i++) {
    const version = laid.versionOfDay(day[i]!);
    const windows = listOf(version.document.windows as Document[]);
    const main = laid.mainWindowAt(version, i);
    const whole = sold.within === 'period';
    const hours = new Set(whole || main < 0 ? [] : [windows[main]!.name as string]);
    const parts = new Map<Charge, Pick<Part, 'name' | 'price' | 'blocks'>>();
    let price = 0;
    for (const charge of version.charges) {
      if (charge.kind !== 'energy' || charge.nonBypassable) continue;
      const all = charge.partsAt(i);
      if (all.length === 0) continue;
      const most = mostShare(all);
      parts.set(charge, {
        name: most.name,
        price: most.price,
        ...(most.blocks === undefined ? {} : { blocks: most.blocks }),
      });
      price += most.price;
      // A charge's own windows are hours of their own, and so are those of each price of a table.
      if (charge.many) hours.add(`${charge.name} at ${most.price}`);
      else if (!whole && most.name !== '') hours.add(most.name);
    }
    const window = [...hours].join(', ');
    const key = [laid.periodAt[i], version.index, laid.seasonAt(version, day[i]!), window, price.toFixed(9)].join('|');
    let group = groups.get(key);
    if (group === undefined) {
      group = { period: laid.periodAt[i]!, version, window, parts, importKwh: 0, exportKwh: 0, dueKwh: 0, leftKwh: 0 };
      groups.set(key, group);
    }
    group.importKwh += flows.importKwh[i]!;
    group.exportKwh += flows.exportKwh[i]!;
  }
  const list = [...groups.values()];
  const bank = new Map<string, number>();
  if (sold.carry === 'kwh' && laid.account.carriedKwh !== undefined)
    bank.set(list[0]!.window, laid.account.carriedKwh as number);
  for (const group of list) {
    // What a line bills is rounded, not what offsets: a line may hold several groups.
    const net = stated(group.importKwh - group.exportKwh).toNumber();
    const carried = sold.carry === 'kwh' ? (bank.get(group.window) ?? 0) : 0;
    group.dueKwh = Math.max(0, net - carried);
    const left = Math.max(0, carried - net);
    if (sold.carry !== 'kwh') group.leftKwh = left;
    else bank.set(group.window, left);
    // The last group of its window before a true-up or the data's end settles what is banked.
    if (sold.carry === 'kwh' && !list.some((other) => other !== group && follows(other, group))) {
      group.leftKwh = left;
      bank.set(group.window, 0);
    }
  }
  return list;

  function follows(other: Group, group: Group): boolean {
    if (other.window !== group.window || list.indexOf(other) < list.indexOf(group)) return false;
    for (let p = group.period; p < other.period; p++)
      if (partsOf(laid.periods[p]!.end - 1).month === sold.trueUpMonth) return false;
    return true;
  }
}
