// What is asked and said on the operator's day: choices, the line that begins work,
// tanks, and what is missing.

import { get, post } from '../api'
import type { components } from '../api.gen'
import { systems, type System } from '../units'
import type { Recorded } from '../wire'

type Schemas = components['schemas']

export type Choices = Schemas['Choices']
export type Begin = Schemas['Begin']
export type Saying = Schemas['Saying']
export type ProductChoice = Schemas['ProductChoice']
export type TankChoice = Schemas['TankChoice']
export type Quick = Schemas['Quick']
export type QuickDone = Schemas['QuickDone']
export type Ready = Schemas['Ready']
export type ReadyItem = Schemas['ReadyItem']
export type Step = Schemas['Step']

export const day = {
  choices: (field: string | null) => get<Choices>(`/api/choices${field === null ? '' : `?field=${encodeURIComponent(field)}`}`),
  begin: (b: Begin) => post<Saying>('/api/begin', b),
  tryBegin: (b: Begin) => post<Saying>('/api/begin/try', b),
  put: (tank: number, body: Schemas['Put']) => post<Saying>(`/api/tanks/${tank}/product`, body),
  refill: (tank: number, body: Schemas['Refill']) => post<Saying>(`/api/tanks/${tank}/refill`, body),
  quick: (body: Quick) => post<QuickDone>('/api/products/quick', body),
  ready: () => get<Ready>('/api/ready'),
  person: (person: string) => post<Recorded>('/api/operator', { person }),
}

/** withNumber is a number that a person typed, with a unit; null where it is none. A comma is a decimal point. */
export function withNumber(typed: string, unit: string): string | null {
  const text = typed.trim().replace(',', '.')
  return /^\d+(\.\d+)?$/.test(text) ? `${text} ${unit}` : null
}

/** parted is a quantity such as "112 kg/ha" as number and unit. */
export function parted(text: string | null): { value: string; unit: string } {
  const m = /^(\S+)\s+(.+)$/.exec(text ?? '')
  return { value: m?.[1] ?? '', unit: m?.[2] ?? '' }
}

/** The units of rates and amounts that a person may choose from, by kind of product, as the daemon reads them. */
export function rateUnits(system: System, kind: string | null): string[] {
  const area = system === 'metric' ? 'ha' : 'ac'
  const mass = `${system === 'metric' ? 'kg' : 'lb'}/${area}`
  const volume = `${system === 'us' ? 'gal' : 'l'}/${area}`
  const count = systems[system].count_rate.symbol
  switch (kind) {
    case 'seed': return [mass, count]
    case 'granular': return [mass]
    case 'liquid': return [volume]
    case null: return [mass, volume, count]
    default: return [volume, mass]
  }
}

export function amountUnits(system: System, unit: string | null): string[] {
  const mass = system === 'metric' ? 'kg' : 'lb'
  const volume = system === 'us' ? 'gal' : 'l'
  switch (unit) {
    case 'kg': return system === 'metric' ? ['kg', 't'] : ['lb', 'kg']
    case 'l': return [volume]
    case 'seeds': return ['seeds', mass]
    default: return [mass, volume]
  }
}
