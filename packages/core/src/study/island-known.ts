import type { Study } from '../site/index.ts';

/**
 * Whether what is carried in an outage is known: the home's own load is, or the site states watts, or lists circuits and no other
 * backed-up load. Where solar isn't metered, what the home uses behind the meter isn't.
 */
export function isIslandKnown({ site, loadKnown }: Pick<Study, 'site' | 'loadKnown'>): boolean {
  const { load, circuits } = site.backup ?? {};
  return (
    loadKnown || load?.watts !== undefined || (load === undefined && circuits !== undefined && circuits.length > 0)
  );
}
