export type { Finding, IntervalData, IntervalSeries, Layout } from './series.ts';
