// A line profile as it is filled in on the screen, and as it is sent.

import type { Profile, ProfileColumn } from './wire'

export type Kind = NonNullable<Profile['kind']>
export type Checksum = NonNullable<Profile['checksum']>
export type FieldOf = ProfileColumn['field']
export type Format = NonNullable<ProfileColumn['format']>
export type First = NonNullable<ProfileColumn['first']>

/** What is typed is kept as text. */
export interface ColumnDraft { column: string; field: FieldOf; tank: string; unit: string; scale: string; offset: string; format: Format; first: First }

export interface Draft {
  kind: Kind
  separator: string
  header: boolean
  checksum: Checksum
  pattern: string
  columns: ColumnDraft[]
  units: { rate: string; flow: string; total: string; level: string; speed: string }
}

export const fields: readonly FieldOf[] = ['work', 'sections', 'speed', 'rate', 'target', 'flow', 'total', 'level']
export const checksums: readonly Checksum[] = ['none', 'xor8', 'sum8', 'crc16-ccitt']
export const formats: readonly Format[] = ['bits', 'hex', 'decimal']
export const firsts: readonly First[] = ['left', 'right']

export const noColumn: ColumnDraft = { column: '', field: 'rate', tank: '1', unit: '', scale: '', offset: '', format: 'bits', first: 'left' }

export const noDraft: Draft = {
  kind: 'keyvalue', separator: ',', header: false, checksum: 'none', pattern: '', columns: [{ ...noColumn, column: '1', field: 'work' }],
  units: { rate: '', flow: '', total: '', level: '', speed: '' },
}

const perTank: ReadonlySet<FieldOf> = new Set<FieldOf>(['rate', 'target', 'flow', 'total', 'level'])

/** takesTank tells whether a field is of one tank. */
export const takesTank = (field: FieldOf): boolean => perTank.has(field)

/** profileOf is a draft as it is sent: what was left empty is not stated. A number that is none goes as it was typed, for the daemon to name. */
export function profileOf(d: Draft): Profile {
  const units = Object.fromEntries(Object.entries(d.units).filter(([, unit]) => unit.trim() !== ''))
  const common = { kind: d.kind, ...(Object.keys(units).length > 0 ? { units } : {}) }
  if (d.kind === 'keyvalue') return common
  const columns = d.columns.filter((c) => c.column.trim() !== '').map(columnOf)
  if (d.kind === 'pattern') return { ...common, pattern: d.pattern, columns }
  return { ...common, separator: d.separator === ' ' ? 'space' : d.separator, header: d.header, checksum: d.checksum, columns }
}

function columnOf(c: ColumnDraft): ProfileColumn {
  const name = c.column.trim()
  const out: ProfileColumn = { column: /^\d+$/.test(name) ? Number(name) : name, field: c.field }
  const number = (text: string): number => {
    const v = Number(text.trim().replace(',', '.'))
    return Number.isFinite(v) ? v : (text as unknown as number)
  }
  if (takesTank(c.field)) {
    if (/^\s*\d+\s*$/.test(c.tank)) out.tank = Number(c.tank)
    else if (c.tank.trim() !== '') out.tank_from = c.tank.trim()
  }
  if (c.unit.trim() !== '') out.unit = c.unit.trim()
  if (c.scale.trim() !== '') out.scale = number(c.scale)
  if (c.offset.trim() !== '') out.offset = number(c.offset)
  if (c.field === 'sections') {
    out.format = c.format
    out.first = c.first
  }
  return out
}
