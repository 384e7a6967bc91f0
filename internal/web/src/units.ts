// Quantities as a person reads them. Inside everything is SI; only what is shown
// comes here. The table is that of testdata/units.json, which the Go side shares; a
// test keeps them equal. Digits are not grouped, so that no comma is taken for a
// decimal point.

export type System = 'metric' | 'us' | 'canadian'

/** What a number measures, and so its SI unit: m2, kg, litres, seeds, each of these per m2, m/s, m, m, m2. */
export type Quantity =
  | 'area' | 'mass' | 'volume' | 'count' | 'mass_rate' | 'volume_rate' | 'count_rate' | 'speed' | 'length' | 'distance' | 'patch'

/** One of the unit is `si` in the quantity's SI unit; shown with so many decimals. */
export interface Unit { symbol: string; si: number; digits: number }

const acre = 4046.8564224 // m2, international
const hectare = 10_000
const pound = 0.45359237 // kg
const gallon = 3.785411784 // litres, US
const foot = 0.3048 // m
const mile = 1609.344 // m

const kg: Unit = { symbol: 'kg', si: 1, digits: 1 }
const lb: Unit = { symbol: 'lb', si: pound, digits: 1 }
const litre: Unit = { symbol: 'L', si: 1, digits: 1 }
const gal: Unit = { symbol: 'gal', si: gallon, digits: 1 }
const seeds: Unit = { symbol: 'seeds', si: 1, digits: 0 }
const ha: Unit = { symbol: 'ha', si: hectare, digits: 3 }
const ac: Unit = { symbol: 'ac', si: acre, digits: 3 }
const ft: Unit = { symbol: 'ft', si: foot, digits: 1 }
const ft2: Unit = { symbol: 'ft2', si: foot * foot, digits: 0 }
const kmh: Unit = { symbol: 'km/h', si: 1000 / 3600, digits: 1 }
const km: Unit = { symbol: 'km', si: 1000, digits: 2 }
const per = (amount: Unit, area: Unit, digits: number): Unit => ({ symbol: `${amount.symbol}/${area.symbol}`, si: amount.si / area.si, digits })

export const systems: Record<System, Record<Quantity, Unit>> = {
  metric: {
    area: ha, mass: kg, volume: litre, count: seeds,
    mass_rate: per(kg, ha, 1), volume_rate: per(litre, ha, 1), count_rate: { symbol: 'seeds/m2', si: 1, digits: 1 },
    speed: kmh, length: { symbol: 'm', si: 1, digits: 2 }, distance: km, patch: { symbol: 'm2', si: 1, digits: 1 },
  },
  us: {
    area: ac, mass: lb, volume: gal, count: seeds,
    mass_rate: per(lb, ac, 1), volume_rate: per(gal, ac, 2), count_rate: per(seeds, ac, 0),
    speed: { symbol: 'mph', si: mile / 3600, digits: 1 }, length: ft, distance: { symbol: 'mi', si: mile, digits: 2 }, patch: ft2,
  },
  canadian: {
    area: ac, mass: lb, volume: litre, count: seeds,
    mass_rate: per(lb, ac, 1), volume_rate: per(litre, ac, 2), count_rate: { symbol: 'seeds/ft2', si: 1 / (foot * foot), digits: 2 },
    speed: kmh, length: ft, distance: km, patch: ft2,
  },
}

/** A number apart from its unit, so that it can be written larger. */
export interface Figure { value: string; symbol: string }

/** figure is an SI value in the units of a person; null where it is not known. */
export function figure(system: System, quantity: Quantity, si: number | null | undefined): Figure | null {
  if (si === null || si === undefined || !Number.isFinite(si)) return null
  const unit = systems[system][quantity]
  const value = (si / unit.si).toFixed(unit.digits)
  return { value: Number(value) === 0 ? value.replace('-', '') : value, symbol: unit.symbol }
}

/** show is a figure as text, "unknown" for one that is not known. */
export function show(system: System, quantity: Quantity, si: number | null | undefined): string {
  const f = figure(system, quantity, si)
  return f === null ? 'unknown' : `${f.value} ${f.symbol}`
}

/** about is a figure of which three digits are enough, as of what is worked out ahead. */
export function about(system: System, quantity: Quantity, si: number | null | undefined): string {
  const f = figure(system, quantity, si)
  if (f === null) return 'unknown'
  const whole = f.value.replace('-', '').split('.')[0] ?? ''
  const digits = Math.max(0, Math.min((f.value.split('.')[1] ?? '').length, 3 - whole.length))
  return `${Number(f.value).toFixed(digits)} ${f.symbol}`
}

/** amountOf is the quantity of an amount in kg, l or seeds and that of its rate; null for another unit. */
export function amountOf(unit: string | null): { amount: Quantity; rate: Quantity } | null {
  switch (unit) {
    case 'kg': return { amount: 'mass', rate: 'mass_rate' }
    case 'l': return { amount: 'volume', rate: 'volume_rate' }
    case 'seeds': return { amount: 'count', rate: 'count_rate' }
    default: return null
  }
}
