// A correction as it is tried: the figures before and after side by side, and then
// written.

import { useEffect, useRef, useState } from 'preact/hooks'
import { Act, Fault, useAction } from '../panel/common'
import { past, type Later, type Trial } from './calls'
import { useShown } from './parts'
import { beside, lines, minute, pairs } from './words'

const askMs = 300

/** useTrial tries a line and follows the trial until it is done. */
export function useTrial(session: string) {
  const [id, setID] = useState<string | null>(null)
  const [line, setLine] = useState<Later | null>(null)
  const [trial, setTrial] = useState<Trial | null>(null)
  const [lost, setLost] = useState<string | null>(null)
  const action = useAction()
  useEffect(() => {
    if (id === null) return
    let timer = 0
    let gone = false
    const ask = () => {
      void past.trial(id).then((answer) => {
        if (gone) return
        if (!answer.ok && answer.status !== 0) { setLost(answer.error); setID(null); return }
        if (answer.ok) setTrial(answer.value)
        if (!answer.ok || answer.value.state === 'working') timer = window.setTimeout(ask, askMs)
      })
    }
    ask()
    return () => { gone = true; clearTimeout(timer) }
  }, [id])
  return {
    trial, line, error: action.error ?? lost, busy: action.busy || (id !== null && (trial === null || trial.state === 'working')),
    start(what: Later) {
      setTrial(null); setID(null); setLost(null); setLine(what)
      action.run(() => past.try(session, what), (v) => setID(v.preview))
    },
    drop() { setTrial(null); setID(null); setLost(null); setLine(null) },
  }
}

/** BeforeAfter lays the figures side by side. */
export function BeforeAfter({ trial }: { trial: Trial }) {
  const { units, zone } = useShown()
  return (
    <div class="before-after" data-test="before-after">
      {pairs(trial.before, trial.after).map(({ before, after }, i) => (
        <table key={i}>
          <caption>{before === null ? 'A new operation' : after === null ? 'An operation that is no more' : 'Operation'}, {minute((before ?? after)?.start ?? null, zone)} to {minute((before ?? after)?.end ?? null, zone)}</caption>
          <thead><tr><th scope="col">Figure</th><th scope="col">Before</th><th scope="col">After</th></tr></thead>
          <tbody>
            {beside(before === null ? [] : lines(units, before), after === null ? [] : lines(units, after)).map((r, k) => (
              <tr key={k} class={r.before === r.after ? 'same' : 'changed'}><th scope="row">{r.label}</th><td>{r.before ?? '–'}</td><td>{r.after ?? '–'}</td></tr>
            ))}
          </tbody>
        </table>
      ))}
    </div>
  )
}

/** TrialPane shows how a trial stands, and writes what was tried. */
export function TrialPane({ of, session, write, onWritten }: { of: ReturnType<typeof useTrial>; session: string; write: string; onWritten: (number: number) => void }) {
  const action = useAction()
  const { trial, line } = of
  const at = useRef<HTMLDivElement>(null)
  useEffect(() => { if (trial?.state === 'done') at.current?.scrollIntoView({ block: 'nearest' }) }, [trial?.state])
  return (
    <div class="trial" aria-live="polite" ref={at}>
      <Fault text={of.error ?? action.error ?? (trial?.state === 'failed' ? (trial.error ?? 'It cannot be worked out.') : null)} />
      {of.busy ? <p class="quiet" data-test="trial-working">Working it out from the recording: {Math.round((trial?.share ?? 0) * 100)} %</p> : null}
      {trial?.state === 'done' && line !== null ? (
        <>
          {trial.changes === false ? <p class="fault" data-test="changes-nothing">Nothing would change: look at the times and at what is stated.</p> : null}
          <BeforeAfter trial={trial} />
          <div class="row">
            <Act always kind="primary" test="write-correction" disabled={action.busy} onClick={() => action.run(() => past.correct(session, line), (v) => { of.drop(); onWritten(v.number) })}>{write}</Act>
            <button type="button" class="button plain" data-test="drop-trial" onClick={() => of.drop()}>Leave it as it is</button>
          </div>
        </>
      ) : null}
    </div>
  )
}
