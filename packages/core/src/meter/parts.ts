import type { ChannelPart } from './series.ts';

/** Parts with their energy changed in one way: cut, summed, scaled. */
export function withEnergy(
  parts: readonly ChannelPart[],
  change: (kwh: Float64Array, part: ChannelPart) => Float64Array,
): ChannelPart[] {
  return parts.map((part) => (part.kwh === undefined ? part : { ...part, kwh: change(part.kwh, part) }));
}
