import type { SettingsReport } from '@duskbank/core/study';

/** What settings were judged on, as people say it. */
export function halvesOf(apart: SettingsReport['apart']): string {
  return apart === 'billing-periods' ? 'billing periods' : 'weeks';
}

/** On what the money of settings stands: what they weren't found on, or all that they were found on. */
export function seenWords(apart: SettingsReport['apart'], whose: 'its' | 'the'): string {
  return apart === 'nothing'
    ? `on the weeks that ${whose} settings were found on`
    : `on ${halvesOf(apart)} that ${whose} settings were not found on`;
}
