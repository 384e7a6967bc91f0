// What published texts ask of a record, beside what is known.

import { Fault } from '../panel/common'
import { past, type Ref } from './calls'
import { useAsked, useShown } from './parts'
import { moment } from './words'

const stateWords: Record<string, string> = { present: 'There', missing: 'Missing', depends: 'It depends', not_applicable: 'Not asked for' }

export function Complete({ of }: { of: Ref }) {
  const { zone } = useShown()
  const list = useAsked(`${of.session} ${of.operation}`, () => past.complete(of))
  if (list.value === null) return list.error === null ? <p class="quiet">One moment …</p> : <Fault text={list.error} />
  return (
    <div data-test="complete">
      <p class="caution">{list.value.caution}</p>
      {list.value.lists.map((l) => (
        <section key={l.rules} aria-label={l.title}>
          <h4>{l.title}</h4>
          <p class="note">{l.why}{l.keep_until === null ? '' : ` To be kept until ${moment(l.keep_until, zone)}.`}{l.record_by === null ? '' : ` To be written before ${moment(l.record_by, zone)}.`}</p>
          {l.notes.map((n) => <p key={n} class="note">{n}</p>)}
          <ul class="elements">
            {l.elements.map((e, i) => (
              <li key={`${e.id} ${i}`} data-state={e.state}>
                <span class={`badge ${e.state === 'present' ? 'good' : e.state === 'missing' ? 'bad' : ''}`}>{stateWords[e.state] ?? e.state}</span>
                <div>
                  <b>{e.words}</b>{e.product === null ? '' : ` (${e.product})`}{e.value === '' ? '' : `: ${e.value}`}
                  {e.doubt === '' ? null : <p class="note">{e.doubt}</p>}
                  {e.state === 'missing' || e.state === 'depends' ? <p class="note">{e.when} {e.enter} <span class="quiet">({e.act}, {e.section})</span></p> : null}
                </div>
              </li>
            ))}
          </ul>
        </section>
      ))}
    </div>
  )
}
