// What was said later about a session: who, when, why, what, and whether it holds.

import { past, type Session } from './calls'
import { Undoing } from './Detail'
import { useAuthor, useShown } from './parts'
import { minute, moment, states } from './words'

export function Trail({ session, onWritten }: { session: Session; onWritten: () => void }) {
  const { zone } = useShown()
  const [by] = useAuthor()
  if (session.corrections.length === 0 && session.correction_faults.length === 0) return null
  return (
    <section aria-label="Corrections">
      <h3>Corrections of this session</h3>
      <ol class="trail" data-test="trail">
        {session.corrections.map((c) => (
          <li key={c.number} class={c.acts ? '' : 'is-off'} data-test={`correction-${c.number}`} data-acts={c.acts}>
            <div>
              <b>{c.number}.</b> {c.undoes !== null ? `Number ${c.undoes} is taken back` : Object.keys(c.statement).length === 0 ? 'Says nothing that acts' : states(c.statement)}
              {c.from === null ? '' : ` (${minute(c.from, zone)} to ${minute(c.to, zone)})`}
              {c.taken_back_by === null ? null : <span class="badge">taken back by {c.taken_back_by}</span>}
              <p class="note">{c.why === '' ? 'No reason' : `“${c.why}”`} · {c.by ?? 'nobody named'} · {c.made === null ? 'time not stated' : moment(c.made, zone)}</p>
            </div>
            {c.taken_back_by !== null || !c.acts ? null : (
              <Undoing what={`Take number ${c.number} back`} test={`undo-${c.number}`} undo={(why) => past.undo(session.session, c.number, why, by)} onWritten={onWritten} />
            )}
          </li>
        ))}
      </ol>
      {session.correction_faults.map((f) => <p key={f} class="note">{f}</p>)}
    </section>
  )
}
