// Another person changed the item meanwhile: what each said, and which holds.

import { useState } from 'preact/hooks'
import type { Entered, Item } from './calls'
import { differences, merged, proposed, type Choice, type Difference } from './conflict'
import { forms } from './forms'
import type { Kind } from './calls'

const shown = (v: unknown): string => (v === undefined || v === null || v === '' ? 'nothing' : typeof v === 'object' ? JSON.stringify(v).slice(0, 120) : v === true ? 'yes' : v === false ? 'no' : String(v))

export function Conflict({ kind, base, mine, theirs, onKeep, onTheirs }: { kind: Kind; base: Entered; mine: Entered; theirs: Item; onKeep: (item: Entered) => void; onTheirs: () => void }) {
  const list = differences(base, mine, theirs)
  const [choices, set] = useState<{ [member: string]: Choice }>({})
  const item = merged(theirs, list, choices)
  const name = (d: Difference) => forms[kind].find((i) => i.member === d.member)?.label ?? d.member.replace(/_/g, ' ')
  return (
    <section class="pane conflict" role="alert" data-test="conflict">
      <h3>Changed by somebody else meanwhile</h3>
      <p>Nothing of yours is saved yet, and nothing is lost. {list.some((d) => d.by === 'both') ? 'Choose what holds where both of you changed the same.' : 'You changed different things: both can hold.'}</p>
      <div class="conflict-list">
        {list.map((d) => {
          const choice = choices[d.member] ?? proposed(d)
          return (
            <fieldset key={d.member} class="choice" data-test={`conflict-${d.member}`}>
              <legend>{name(d)}{d.by === 'both' ? ', changed by both' : d.by === 'me' ? ', changed by you' : ', changed by the other'}</legend>
              {(['mine', 'theirs'] as const).map((c) => (
                <button key={c} type="button" class="button plain" aria-pressed={choice === c} data-test={`${c}-${d.member}`} onClick={() => set({ ...choices, [d.member]: c })}>
                  {c === 'mine' ? 'Mine' : 'Theirs'}: {shown(d[c])}
                </button>
              ))}
            </fieldset>
          )
        })}
        {list.length === 0 ? <p>Both of you said the same.</p> : null}
      </div>
      <div class="row">
        <button type="button" class="button primary" data-test="conflict-save" disabled={item === undefined} onClick={() => { if (item !== undefined) onKeep(item) }}>Save as chosen</button>
        <button type="button" class="button plain" data-test="conflict-theirs" onClick={onTheirs}>Leave mine, take theirs</button>
      </div>
    </section>
  )
}
