import { bound } from './bounds.ts';
import { shortFigure } from './figures.ts';
import { quoteName } from './quote.ts';

/** Dangers of circuits, and figures of them that look wrong. */
export const CIRCUIT_WORDS = {
  /** A medical circuit is more than the equipment carries together with those before it: count on 0 h. */
  'medical-not-carried': ({ circuit }: { circuit: string }) =>
    `${quoteName(circuit)} is medical, and the equipment doesn’t carry it: count on 0 h.`,

  /** A medical circuit waits for somebody to change the home over, as far as the site says. */
  'medical-by-hand': ({ circuit, transfer }: { circuit: string; transfer: 'manual' | 'unknown' }) =>
    `${quoteName(circuit)} is medical, and ${transfer === 'manual' ? 'the home is changed over by hand' : 'nothing says that the home changes over by itself'}: 0 h until somebody does it.`,

  /** Two circuits share a neutral that carries their sum: both on one leg, on one 120 V output, or on two units. */
  'shared-neutral-one-leg': ({
    circuits: [one, other],
    amps,
    ...fed
  }: { circuits: readonly [string, string]; amps: number } & (
    | { why: 'same-leg'; leg: string }
    | { why: 'one-output' | 'two-units' }
  )) => {
    const pair = `${quoteName(one)} and ${quoteName(other)}`;
    const sum = `their sum (up to ${bound(amps, 'up', 0)} A), which no breaker sees`;
    switch (fed.why) {
      case 'same-leg':
        return `${pair} share a neutral and are both on ${fed.leg}: the neutral carries ${sum}. It can overheat. A licensed electrician must move one of them before this is backed up.`;
      case 'one-output':
        return `${pair} share a neutral, and in an outage one 120 V output feeds both legs: the neutral then carries ${sum}. It can overheat. A licensed electrician must separate them before this is backed up.`;
      case 'two-units':
        return `${pair} share a neutral across two 120 V units: unless the maker states that the units run in opposite phase, the neutral can carry ${sum}. A licensed electrician must settle this before it is backed up.`;
    }
  },

  /** A circuit draws more than its breaker carries, or than a usual one where none is stated. */
  'implausible-draw': ({
    circuit,
    runningVa,
    volts,
    amps,
    breakerStated,
  }: {
    circuit: string;
    runningVa: number;
    volts: number;
    amps: number;
    breakerStated: boolean;
  }) =>
    `${quoteName(circuit)}: ${shortFigure(runningVa)} VA is more than ${breakerStated ? 'its' : 'a usual'} ${volts} V, ${amps} A circuit carries (${shortFigure(volts * amps)} VA); a slip of the decimal point?`,

  /** A circuit draws far more or less than published tables give for such an appliance. */
  'unusual-for-appliance': ({
    circuit,
    watts,
    applianceName,
    usualW: [least, most],
  }: {
    circuit: string;
    watts: number;
    appliance: string;
    applianceName: string;
    usualW: readonly [number, number];
  }) =>
    `${quoteName(circuit)}: ${shortFigure(watts)} W; published tables give ${least} to ${most} W for a ${applianceName.toLowerCase()}`,

  /** The locked-rotor amps of a circuit are more than twelve times what it runs at. */
  'unusual-start': ({
    circuit,
    lockedRotorAmps,
    runningAmps,
  }: {
    circuit: string;
    lockedRotorAmps: number;
    runningAmps: number;
  }) =>
    `${quoteName(circuit)}: ${lockedRotorAmps} A locked-rotor is ${shortFigure(lockedRotorAmps / runningAmps)} times its running ${shortFigure(runningAmps)} A; motors draw two to eight times`,

  /** The circuits draw more on average than the whole metered home, over all of the data or by night: the list is too high. */
  'circuits-above-meter': ({
    circuits,
    means,
    hoursRestOnList,
  }: {
    circuits: readonly string[];
    means: readonly { readonly when: 'all' | 'night'; readonly circuitsW: number; readonly homeW: number }[];
    hoursRestOnList: boolean;
  }) => {
    const told = means.map(
      ({ when, circuitsW, homeW }) =>
        `${shortFigure(circuitsW)} W ${when === 'all' ? 'over all of the data' : 'from 0 to 5 h'}, the whole metered home ${shortFigure(homeW)} W`,
    );
    const rest = hoursRestOnList
      ? 'Hours of backup rest on these, the higher draw: they are rather too short than too long'
      : 'Hours of backup rest on backup.load, not on the list';
    return `${circuits.length === 1 ? '1 circuit of the list draws' : `${circuits.length} circuits of the list draw`} more on average than the home around it: ${told.join('; ')}. ${rest}. State watts from the nameplates and dutyShare, or what a plug-in meter reads`;
  },
} as const;

export type CircuitWords = typeof CIRCUIT_WORDS;

/** Cautions that stand where the numbers are. */
export const CAUTION_WORDS = {
  /** A circuit is life-supporting or medical: it needs a plan of its own. */
  medical: () =>
    'Life-supporting equipment needs its own plan: the maker’s battery, the utility’s list of homes with medical equipment, a place to go. ' +
    'Never this battery alone. No chance of lasting is given for it.',

  /** Transfer equipment can kill: it is for licensed people. */
  wiring: () =>
    'Transfer equipment, back-feed and neutral bonding can kill: they are for licensed people under the local code. ' +
    'Nothing here is a wiring instruction.',

  /** A generator beside the battery. */
  generator: () => 'With a generator too: one source at a time, outdoors, away from windows (carbon monoxide).',

  /** What was on comes back on with the power. */
  'power-returns': () => 'Switch off ranges, irons and heaters: they come back on with the power.',

  /** Load figures are estimates: told where an answer speaks of panels, legs or circuits. */
  estimate: () => 'Load figures are estimates to talk about with a licensed electrician, never a permit document.',
} as const;
