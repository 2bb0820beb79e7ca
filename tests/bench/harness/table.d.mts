import type { Row } from './lines.mjs';

export const LEGEND: readonly string[];
export function headOf(withBefore: boolean): string;
export function textOf(row: Row, limits: object, withBefore: boolean): string[];
export function isWrong(row: Row): boolean;
export function figure(value: number): string;
