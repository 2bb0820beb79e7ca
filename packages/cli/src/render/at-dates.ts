/** Which dated reserves figures hold: those that are still to be set, in the words given, and outages that are over. */
export function atDates(listed: string, over: readonly string[]): string {
  if (over.length === 0) return listed;
  const one = over.length === 1;
  const days = [...new Set(over.map((from) => from.slice(0, 10)))];
  const when = days.length > 3 ? `${days[0]} to ${days.at(-1)}` : days.join(', ');
  return `${listed}; the planned outage${one ? '' : 's'} of ${when} ${one ? 'is' : 'are'} in the figures, and ${one ? 'is' : 'are'} over`;
}
