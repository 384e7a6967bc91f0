// One mark in a list: what it is, how far and in which direction, and whether it is done.

import type { ComponentChildren } from 'preact'
import { SignDrawing } from '../panel/Sign'
import { otherSign, signs } from '../signs'
import type { KeptMark } from '../wire'
import type { System } from '../units'
import { distance, wind, windWord, type Away } from './away'

const signOf = (kind: string) => signs.find((s) => s.kind === kind) ?? otherSign

/** kindWord is what a mark is, in words that begin a line. */
export const kindWord = (kind: string): string => signs.find((s) => s.kind === kind)?.label ?? kind.charAt(0).toUpperCase() + kind.slice(1)

const dayOf = (time: string | null): string => (time === null ? '' : new Date(time).toLocaleDateString('en-GB', { day: 'numeric', month: 'short', year: 'numeric' }))

/** An arrow that points to a mark, north up. */
export function Arrow({ away }: { away: Away }) {
  return (
    <svg class="mark-arrow" viewBox="0 0 24 24" width="34" height="34" role="img" aria-label={`to the ${windWord(away.deg)}`}>
      <path d="M12 2 19 20 12 16 5 20Z" transform={`rotate(${away.deg.toFixed(0)} 12 12)`} />
    </svg>
  )
}

export function MarkRow({ mark, away, units, field, children }: { mark: KeptMark; away: Away | null; units: System; field: boolean; children: ComponentChildren }) {
  const done = mark.state === 'done'
  return (
    <li class={done ? 'mark-row is-done' : 'mark-row'} data-test="mark-row" data-id={mark.id} data-state={mark.state}>
      <SignDrawing sign={signOf(mark.kind)} size={44} />
      <div class="mark-words">
        <strong>{kindWord(mark.kind)}</strong>
        {mark.note === '' ? null : <p class="mark-note" data-test="mark-note">{mark.note}</p>}
        <p class="quiet">
          {field && mark.field !== null ? `${mark.field} · ` : ''}left {dayOf(mark.left)}
          {done && mark.settled !== null ? ` · done ${dayOf(mark.settled)}${mark.settled_by === null ? '' : ` by ${mark.settled_by}`}` : ''}
        </p>
      </div>
      <div class="mark-away" data-test="mark-away">
        {away === null ? <span class="quiet">{mark.lon_deg === null ? 'no place' : 'how far: unknown'}</span> : <><Arrow away={away} /><span><strong>{distance(units, away.m)}</strong> {wind(away.deg)}</span></>}
      </div>
      <div class="row mark-acts">{children}</div>
    </li>
  )
}
