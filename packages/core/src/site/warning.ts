/** Something that bears on how far results can be trusted. */
export interface Warning {
  /** Stable, kebab-case. */
  readonly code: string;
  readonly message: string;
}
