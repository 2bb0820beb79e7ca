/** Minutes since midnight of a time of day, `HH:MM`. */
export function minuteOf(time: string): number {
  return Number(time.slice(0, 2)) * 60 + Number(time.slice(3));
}
