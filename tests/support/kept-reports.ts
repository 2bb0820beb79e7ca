import type { Study } from '@duskbank/core/study';
import { keptOf } from './kept.ts';
import { loadedSite } from './kept-sites.ts';

/** A report without what is of no answer: the version that made it, and the files that it read. */
export function keptReport(report: unknown): unknown {
  if (typeof report !== 'object' || report === null || !('provenance' in report)) return report;
  const { provenance, version, ...answers } = report as { provenance: { assumptions?: unknown }; version?: string };
  return { ...answers, assumptions: provenance.assumptions };
}

/** Reports on a kept site, each by its name, kept part by part; or how the site, or one of them, is refused. */
export async function keptReports(
  seed: number,
  reports: Readonly<Record<string, (study: Study) => unknown>>,
  depth = 1,
): Promise<string> {
  let study: Study | undefined;
  const refused = await keptOf(async () => {
    study = (await loadedSite(seed)).study;
  });
  if (study === undefined) return refused;
  const told: string[] = [];
  for (const [name, report] of Object.entries(reports))
    told.push(`-- ${name}`, await keptOf(async () => keptReport(await report(study!)), depth));
  return told.join('\n');
}
