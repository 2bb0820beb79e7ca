// `NIGHTLY_SEED=20260801 NIGHTLY_SECONDS=1200 pnpm nightly`: other inputs, and how long the longest of the five fuzzers
// run, all side by side.

export const SEED = Number(process.env.NIGHTLY_SEED ?? 1);
export const SECONDS = Number(process.env.NIGHTLY_SECONDS ?? 240);
/** Where inputs that failed are kept as files. */
export const KEPT = '.test-results/kept';
/** More memory than this for a damaged file, MB: something grows that shouldn't. */
export const MOST_MB = 500;

/** The most memory that this process has held, MB. */
export const megabytes = () => Math.round(process.resourceUsage().maxRSS / 1e3);
