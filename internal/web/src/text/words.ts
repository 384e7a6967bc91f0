// Words for a person, in plain English.

import type { Offer, SectionState } from '../wire'

/** alarmTitle is what is wrong in two or three words; the daemon's text says what to do. */
export function alarmTitle(a: { alarm: string; subject: string | null }): string {
  // the daemon says "tank 1", "section 3"
  const number = a.subject?.replace(/^(tank|section) /, '') ?? ''
  const of = number === '' ? '' : ` ${number}`
  switch (a.alarm) {
    case 'source_lost': return a.subject === null ? 'Input lost' : `Input lost: ${a.subject}`
    case 'no_fix': return 'No position'
    case 'fix_quality': return 'Position too coarse'
    case 'controller_silent': return 'Rate controller silent'
    case 'rate_off_target': return `Rate off target${of === '' ? '' : `, tank${of}`}`
    case 'section_off': return `Section${of} off`
    case 'tank_low': return `Tank${of} low`
    case 'tank_empty': return `Tank${of} empty`
    case 'tank_short': return `Tank${of} not enough`
    case 'disk_low': return 'Disk nearly full'
    case 'recording_stopped': return 'Not recording'
    case 'clock_stepped': return 'Clock was set'
    default: return 'Take note'
  }
}

/** severityWord says how soon someone must act, so that colour is not the only sign. */
export function severityWord(severity: string): string {
  switch (severity) {
    case 'critical': return 'Act now'
    case 'warning': return 'Soon'
    default: return 'Note'
  }
}

/** sentence begins with a capital letter, as what the daemon says on a screen shall. */
export const sentence = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1)

/** offTarget is how far a rate is off its target, in whole percent; a tank that lays nothing is off. */
export function offTarget(rate: number | null, target: number | null): string | null {
  if (rate === null || target === null || target <= 0) return null
  if (rate === 0) return 'off'
  const percent = Math.round((rate / target - 1) * 100)
  return percent === 0 ? 'on target' : `${percent > 0 ? '+' : '−'}${Math.abs(percent)}\u00a0%`
}

/** howOld is an age in words, seconds to hours. */
export function howOld(ageS: number): string {
  if (ageS < 120) return `${Math.round(ageS)} s`
  if (ageS < 7200) return `${Math.round(ageS / 60)} min`
  return `${Math.round(ageS / 3600)} h`
}

/** sectionsOn is how many of the sections are on. */
export function sectionsOn(sections: readonly SectionState[]): string {
  if (sections.length === 0) return 'unknown'
  if (sections.every((s) => s === 'unknown')) return `unknown, of ${sections.length}`
  return `${sections.filter((s) => s === 'on').length} of ${sections.length}`
}

/** qualityWord is how good a position is, as people in the field say it. */
export function qualityWord(quality: string | null): string {
  switch (quality) {
    case null: return 'none yet'
    case 'rtk': return 'RTK fixed'
    case 'float': return 'RTK float'
    case 'dgnss': return 'Corrected'
    case 'precise': return 'Precise'
    case 'autonomous': return 'Plain'
    case 'estimated': return 'Guessed'
    case 'simulated': return 'Simulated'
    case 'manual': return 'By hand'
    case 'none': return 'No fix'
    default: return quality
  }
}

/** clock is a time of day in a zone; the zone's name may be wrong, then UTC. */
export function clock(time: string | null, zone: string): string {
  if (time === null) return 'unknown'
  const at = new Date(time)
  if (Number.isNaN(at.getTime())) return 'unknown'
  const options: Intl.DateTimeFormatOptions = { hour: '2-digit', minute: '2-digit', second: '2-digit', hourCycle: 'h23' }
  try {
    return new Intl.DateTimeFormat('en-GB', { ...options, timeZone: zone }).format(at)
  } catch {
    return `${new Intl.DateTimeFormat('en-GB', { ...options, timeZone: 'UTC' }).format(at)} UTC`
  }
}

/** offerText is what is said of a field that is offered. */
export function offerText(offer: Offer): string {
  if (offer.inside) return `You are in ${offer.field}`
  return offer.in_s === null ? `Coming to ${offer.field}` : `Entering ${offer.field} in ${Math.max(0, Math.round(offer.in_s))} s`
}

export const safety =
  'Do not operate the screen while driving. Set up while parked; the machine’s own displays and the product label come first.'

export const viewerOnly = 'This device may only look. An operator can change that under Devices.'

export const recordedOnly = 'A recorded session is shown: nothing is added to it.'
