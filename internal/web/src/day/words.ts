// Words of the operator's day.

import { figure, show, type System } from '../units'

/** startText is what the button of a suggestion says. */
export const startText = (words: string): string => (words === '' ? 'Work here' : `Start: ${words}`)

interface Left {
  time_left_s: number | null
  runs_out: { in_m: number; in_s: number | null; lon_deg: number; lat_deg: number } | null
  next_pass_short: boolean | null
}

/** span is a time in words: 40 s, 12 min, 1 h 30 min. */
export function span(s: number): string {
  if (s < 90) return `${Math.round(s)} s`
  const min = Math.round(s / 60)
  return min < 60 ? `${min} min` : `${Math.floor(min / 60)} h ${min % 60} min`
}

/** away is a way ahead: whole metres or feet, kilometres or miles where it is long. */
export function away(system: System, m: number): string {
  if (m >= 1000) return show(system, 'distance', m)
  const f = figure(system, 'length', m)
  return f === null ? 'unknown' : `${Math.round(Number(f.value))} ${f.symbol}`
}

/** left is how far a tank still reaches; ahead is the way to where it runs out. */
export function left(t: Left, ahead = ''): string {
  const parts: string[] = []
  if (t.time_left_s !== null) parts.push(`${span(t.time_left_s)} left`)
  if (t.runs_out !== null) parts.push(`runs out on this pass${ahead === '' ? '' : `, in ${ahead}`}`)
  else if (t.next_pass_short === true) parts.push('not enough for the next pass')
  return parts.join('; ')
}

/** fromText is why a product is offered. */
export function fromText(from: string): string {
  switch (from) {
    case 'plan': return 'planned'
    case 'here': return 'last used here'
    case 'last': return 'last used'
    default: return ''
  }
}

export const labelCaution = 'drawbar holds no label database. The product label, the local rules and a licensed person decide.'
