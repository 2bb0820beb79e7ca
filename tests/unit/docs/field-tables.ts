/** What of JSON Schema (draft 2020-12) the file formats use. */
export interface JsonSchema {
  type?: string | string[];
  description?: string;
  default?: unknown;
  const?: unknown;
  enum?: unknown[];
  properties?: Record<string, JsonSchema>;
  required?: string[];
  additionalProperties?: boolean | JsonSchema;
  items?: JsonSchema;
  anyOf?: JsonSchema[];
  oneOf?: JsonSchema[];
  minimum?: number;
  maximum?: number;
  exclusiveMinimum?: number;
  exclusiveMaximum?: number;
  minLength?: number;
  maxLength?: number;
  minItems?: number;
  maxItems?: number;
  pattern?: string;
}

interface Section {
  readonly path: string;
  readonly schema: JsonSchema;
}

/**
 * The fields of a file format as Markdown: a table an object, in the order of the file. An object that occurs twice is
 * described once and linked to from its other places.
 *
 * @param of a `file`, whose table says what may be left out, or a `result`, where every field is there
 */
export function fieldTables(schema: JsonSchema, of: 'file' | 'result'): string {
  const parts: string[] = [];
  const described = new Map<string, string>();
  const open: Section[] = [{ path: '', schema }];
  while (open.length > 0) {
    const section = open.shift()!;
    const found: Section[] = [];
    if (section.path !== '') parts.push(`### \`${section.path}\``);
    if (section.path !== '' && section.schema.description !== undefined) parts.push(sentence(section.schema));
    parts.push(tableOf(section, of, described, found));
    open.unshift(...found);
  }
  return parts.join('\n\n');
}

/** Every field without a description, by its path. */
export function undescribed(schema: JsonSchema, path = ''): string[] {
  const missing: string[] = [];
  for (const [name, field] of Object.entries(schema.properties ?? {})) {
    const here = path === '' ? name : `${path}.${name}`;
    if (descriptionOf(field) === '') missing.push(here);
    for (const inner of objectsIn(field)) missing.push(...undescribed(inner.schema, here + inner.suffix));
  }
  return missing;
}

function tableOf(section: Section, of: 'file' | 'result', described: Map<string, string>, found: Section[]): string {
  const { schema, path } = section;
  const required = new Set(schema.required ?? []);
  const rows = Object.entries(schema.properties ?? {}).map(([name, field]) => {
    const links: string[] = [];
    for (const { suffix, schema: inner } of objectsIn(field)) {
      const here = `${path === '' ? '' : `${path}.`}${name}${suffix}`;
      const key = JSON.stringify({ ...inner, description: undefined, default: undefined });
      const known = described.get(key);
      if (known === undefined) {
        described.set(key, here);
        found.push({ path: here, schema: inner });
      }
      links.push(`[\`${known ?? here}\`](#${anchorOf(known ?? here)})`);
    }
    const needed = required.has(name) && field.default === undefined ? 'needed' : defaultOf(field);
    const meaning = [sentence(field), links.length > 0 ? `See ${links.join(', ')}.` : ''].filter(Boolean).join(' ');
    return [`\`${name}\``, typeOf(field), ...(of === 'file' ? [needed] : []), meaning];
  });
  return markdownTable(['field', 'value', ...(of === 'file' ? ['default'] : []), 'meaning'], rows);
}

/** The objects that a field may hold, with what to add to its name: `[]` for entries of a list. */
function objectsIn(field: JsonSchema): { suffix: string; schema: JsonSchema }[] {
  if (field.properties !== undefined) return [{ suffix: '', schema: field }];
  if (field.items !== undefined)
    return objectsIn(field.items).map(({ suffix, schema }) => ({ suffix: `[]${suffix}`, schema }));
  if (typeof field.additionalProperties === 'object') return objectsIn(field.additionalProperties);
  const branches = (field.anyOf ?? field.oneOf ?? []).flatMap(objectsIn);
  if (branches.length < 2) return branches;
  return branches.map(({ suffix, schema }) => ({ suffix: `${suffix} ${formOf(schema, branches)}`, schema }));
}

/** What tells one form of an object from the others: its `kind`, else the first field that only it has. */
function formOf(schema: JsonSchema, among: { schema: JsonSchema }[]): string {
  const kind = schema.properties?.kind?.const;
  if (kind !== undefined) return `(${kind})`;
  const count = (name: string) => among.filter((other) => other.schema.properties?.[name] !== undefined).length;
  const own = Object.keys(schema.properties ?? {}).find((name) => count(name) === 1);
  return `(${own === undefined ? 'other' : `with ${own}`})`;
}

function typeOf(field: JsonSchema): string {
  if (field.const !== undefined) return `\`${JSON.stringify(field.const)}\``;
  if (field.enum !== undefined) return field.enum.map((value) => `\`${JSON.stringify(value)}\``).join(', ');
  const branches = field.anyOf ?? field.oneOf;
  if (branches !== undefined) return [...new Set(branches.map(typeOf))].join(' or ');
  if (Array.isArray(field.type)) return field.type.map((type) => typeOf({ ...field, type })).join(' or ');
  switch (field.type) {
    case 'array': {
      const { minItems, maxItems } = field;
      const inner = typeOf(field.items ?? {});
      if (minItems !== undefined && minItems === maxItems) return `list of ${minItems}: ${inner}`;
      return inner.includes(' or ') ? `list of (${inner})` : `list of ${inner}`;
    }
    case 'object':
      return typeof field.additionalProperties === 'object'
        ? `names, each with ${typeOf(field.additionalProperties)}`
        : 'object';
    case 'integer':
      return `whole number${boundsOf(field)}`;
    case 'number':
      return `number${boundsOf(field)}`;
    case 'null':
      return '`null`';
    case 'boolean':
      return '`true`, `false`';
    default:
      return field.type === 'string' ? 'text' : 'any';
  }
}

/** Bounds as far as they say something: those that only keep typing errors out are left to the JSON Schema. */
function boundsOf(field: JsonSchema): string {
  const far = (bound: number | undefined) => bound === undefined || Math.abs(bound) >= 1000;
  const low = far(field.minimum) ? undefined : `≥ ${field.minimum}`;
  const above = far(field.exclusiveMinimum) ? undefined : `> ${field.exclusiveMinimum}`;
  const high = far(field.maximum) ? undefined : `≤ ${field.maximum}`;
  const below = far(field.exclusiveMaximum) ? undefined : `< ${field.exclusiveMaximum}`;
  const bounds = [low ?? above, high ?? below].filter((bound) => bound !== undefined);
  return bounds.length === 0 ? '' : ` ${bounds.join(', ').replaceAll('-', '−')}`;
}

function defaultOf(field: JsonSchema): string {
  const value = field.default;
  if (value === undefined || (typeof value === 'object' && Object.keys(value as object).length === 0)) return '';
  return `\`${JSON.stringify(value)}\``;
}

/** A field's own description, or that of the entries of its list. */
function descriptionOf(field: JsonSchema): string {
  return field.description ?? (field.items === undefined ? '' : descriptionOf(field.items));
}

function sentence(field: JsonSchema): string {
  const text = descriptionOf(field);
  if (text === '') return '';
  const capital = /^[a-z]/.test(text) && !/^[a-z]+[A-Z(]/.test(text) ? text[0]!.toUpperCase() + text.slice(1) : text;
  return /[.?!]$/.test(capital) ? capital : `${capital}.`;
}

/** The anchor that Markdown viewers give a heading. */
export function anchorOf(heading: string): string {
  return heading
    .toLowerCase()
    .replace(/[^\p{L}\p{N}\- _]/gu, '')
    .replaceAll(' ', '-');
}

/** A table in the form that the formatter leaves alone: columns as wide as their widest cell. */
export function markdownTable(heads: readonly string[], rows: readonly (readonly string[])[]): string {
  const cells = [heads, ...rows].map((row) => row.map((cell) => cell.replaceAll('|', '\\|')));
  const widths = heads.map((_, c) => Math.max(3, ...cells.map((row) => row[c]!.length)));
  const line = (row: readonly string[]) => `| ${row.map((cell, c) => cell.padEnd(widths[c]!)).join(' | ')} |`;
  const rule = `| ${widths.map((width) => '-'.repeat(width)).join(' | ')} |`;
  return [line(cells[0]!), rule, ...cells.slice(1).map(line)].join('\n');
}
