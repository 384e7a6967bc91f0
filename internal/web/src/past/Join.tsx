// Several operations as one: of several sessions, days and machines.

import { useState } from 'preact/hooks'
import { Act, Fault, useAction, useUnsaved } from '../panel/common'
import { show } from '../units'
import { past, type Detail, type Work } from './calls'
import { Undoing } from './Detail'
import { Reason, useAsked, useAuthor, useShown } from './parts'
import { day, minute } from './words'

const mostOffered = 60

export function JoinForm({ detail, onWritten }: { detail: Detail; onWritten: () => void }) {
  const { units, zone } = useShown()
  const { work } = detail
  const others = useAsked(`${work.field}`, () => past.list({ field: work.field === '' ? '-' : work.field }, 0, mostOffered))
  const [chosen, choose] = useState<readonly Work[]>([])
  const [why, setWhy] = useState('')
  const [by, setBy] = useAuthor()
  const action = useAction()
  useUnsaved(chosen.length > 0 || why.trim() !== '')
  const same = (a: Work, b: Work) => a.session === b.session && a.operation === b.operation
  if (work.join !== null) {
    const { join } = work
    return (
      <section class="pane" data-test="join-form" aria-label="Joined">
        <p>These {work.parts.length} operations are one:</p>
        <ul>{work.parts.map((p) => <li key={`${p.session} ${p.operation}`}>{day(p.start, zone)}, {minute(p.start, zone)} to {minute(p.end, zone)}: {p.session}, operation {p.operation}</li>)}</ul>
        <Undoing what="Take the join apart" test="unjoin" undo={(reason) => past.undoJoin(join, reason, by)} onWritten={onWritten} />
      </section>
    )
  }
  const offered = (others.value?.operations ?? []).filter((o) => !same(o, work) && o.join === null && o.start !== null)
  return (
    <section class="pane" data-test="join-form" aria-label="Join">
      <p class="quiet">Operations in the same field that were one job, on several days or by several machines. Their coverage and overlap are then counted across them.</p>
      <Fault text={others.error} />
      {offered.length === 0 ? <p>There is no other operation in this field.</p> : null}
      <ul class="past-list">
        {offered.map((o) => {
          const on = chosen.some((c) => same(c, o))
          return (
            <li key={`${o.session} ${o.operation}`}>
              <button type="button" class="button plain" aria-pressed={on} data-test="join-with" onClick={() => choose(on ? chosen.filter((c) => !same(c, o)) : [...chosen, o])}>
                {day(o.start, zone)}, {minute(o.start, zone)}: {o.kind}, {show(units, 'area', o.area.covered_m2)}
              </button>
            </li>
          )
        })}
      </ul>
      <Reason why={why} setWhy={setWhy} by={by} setBy={setBy} />
      <Fault text={action.error} />
      <div class="row"><Act always kind="primary" test="join" disabled={chosen.length === 0 || why.trim() === '' || action.busy} onClick={() => action.run(() => past.join([work, ...chosen], why.trim(), by.trim()), onWritten)}>Join {chosen.length + 1} operations</Act></div>
    </section>
  )
}
