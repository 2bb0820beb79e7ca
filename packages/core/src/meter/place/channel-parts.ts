import type { ParseOptions } from '../options.ts';
import type { Declared, Readings } from '../readings.ts';
import { CHANNELS, type Channel, type ChannelPart } from '../series.ts';
import { nameOf } from './told-stream.ts';
import { countsOf, type OnGrid, together } from './unite.ts';

/**
 * What a channel is added up from, by the names that other files of the home give it too; nothing where a stream of it has no
 * such name, or where several meters are added: then it is a whole.
 */
export function channelParts(
  list: readonly OnGrid[],
  channel: Channel,
  readings: Readings,
  { repeats }: ParseOptions,
): ChannelPart[] {
  const points = new Set(list.map(({ stream }) => stream.point ?? 1));
  if (points.size > 1) return [];
  if (list.length === 1 && repeats === 'add' && list[0]!.stream.register === undefined)
    return isOnce(list[0]!) ? [addedWhole(list[0]!, channel)] : [];
  if (list.some(({ stream }) => stream.register === undefined)) return [];
  const [number] = points as Set<number>;
  const point = readings.points?.[number! - 1];
  const declared = readings.declared?.[number! - 1];
  const parts = new Map<string, ChannelPart>();
  for (const { stream, values } of list) {
    const register = stream.register!;
    const known = parts.get(register);
    parts.set(register, {
      channel,
      register,
      name: stream.part?.kind === 'always' ? `register ${register.toUpperCase()}` : nameOf(stream),
      counts: stream.part?.kind === 'always' ? 'always' : countsOf(stream),
      ...(point === undefined ? {} : { point }),
      allListed: declared?.allListed === true,
      ...(repeats === 'add' ? { added: true as const } : {}),
      kwh: known === undefined ? values : together(known.kwh!, values),
    });
  }
  return [...parts.values(), ...unreadParts(declared, channel, point)];
}

/** No text of a file is called so. */
const OWN = '\u0000own';
/** Of the labels, those that are there once: the hour that the clock repeats in autumn is there twice. */
const ONCE_SHARE = 0.98;

/** Whether a column has one reading a label: then the user's word to add can only mean what other files hold. */
function isOnce({ stream: { labels } }: OnGrid): boolean {
  const times = new Set<number>();
  for (let i = 0; i < labels.count; i++) times.add(labels.labelMs[i]!);
  return times.size >= ONCE_SHARE * labels.count;
}

/** A column that no name calls a register, of which the user says that it is one beside what another file holds. */
function addedWhole({ stream, values }: OnGrid, channel: Channel): ChannelPart {
  return {
    channel,
    register: OWN,
    name: nameOf(stream),
    counts: 'unsaid',
    allListed: false,
    added: true,
    kwh: values,
  };
}

/** Registers of channels of which nothing is read, that the file names. */
export function partsNotRead(
  read: ReadonlyMap<Channel, unknown>,
  { declared = [], points, streams }: Readings,
): ChannelPart[] {
  const numbers = new Set(streams.map(({ point }) => point ?? 1));
  return CHANNELS.filter((channel) => !read.has(channel)).flatMap((channel) =>
    declared.flatMap((of, k) => (numbers.has(k + 1) ? unreadParts(of, channel, points?.[k]) : [])),
  );
}

/** Registers of a channel that the file names and holds nothing of. */
function unreadParts(declared: Declared | undefined, channel: Channel, point: string | undefined): ChannelPart[] {
  return (declared?.unread ?? [])
    .filter(({ role }) => role === channel)
    .map(({ register, name }) => ({
      channel,
      register,
      name,
      counts: 'always',
      ...(point === undefined ? {} : { point }),
      allListed: declared!.allListed,
    }));
}
