import type { LightsChoice, SettingsWishes } from '@duskbank/core/dispatch';
import type { HomeYear } from './invented.d.mts';
export interface Judged {
  readonly saved: number;
  readonly hours: number;
}
export interface SheetRow {
  readonly bill: number;
  readonly sheet: Judged;
  readonly apart: Judged;
  readonly lights: LightsChoice | undefined;
}
export const SHEET_TARIFFS: Readonly<Record<string, object>>;
export const CONTROLLER: object;
export const GIVEN_UP: { readonly ofSavings: number; readonly ofBill: number };
export function sheetHomes(): HomeYear[];
export function sheetRow(core: object, data: HomeYear, tariffName: string, wishes?: SettingsWishes): SheetRow;
