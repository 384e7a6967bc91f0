// One touch opens the kinds of marks, the next leaves one; it can be undone for ten
// seconds.

import { useState } from 'preact/hooks'
import { api } from '../api'
import { letterY, signs, type Sign } from '../signs'
import { change, useSettings } from '../settings'
import { Act, Fault, Sheet, useAction, useModel, useStore, ViewerWord } from './common'

const undoMs = 10_000

export function SignDrawing({ sign, size }: { sign: Sign; size: number }) {
  return (
    <svg class="sign" viewBox="-1 -1 26 26" width={size} height={size} aria-hidden="true">
      <path d={sign.path} />
      <text x="12" y={(letterY[sign.kind] ?? 12.5) + 3.2} font-size={sign.letters.length > 1 ? 8 : 10.5}>{sign.letters}</text>
    </svg>
  )
}

export function MarkButton() {
  const [open, setOpen] = useState(false)
  const store = useStore()
  const action = useAction()
  const { markAt } = useSettings()
  const leave = (sign: Sign) => {
    action.run(() => api.mark(sign.kind, markAt), (said) => {
      setOpen(false)
      store.tell({ kind: 'marks changed' })
      const now = performance.now()
      store.tell({ kind: 'toast', toast: { id: now, text: `${sign.label} marked`, until: now + undoMs, ...(said.mark === null ? {} : { undo: said.mark }) } })
    })
  }
  return (
    <>
      <Act kind="primary" test="mark" onClick={() => setOpen(true)}>Mark</Act>
      {open ? (
        <Sheet title="What is there?" test="mark-sheet" onClose={() => setOpen(false)}>
          <ViewerWord />
          <div class="mark-grid">
            {signs.map((s) => (
              <button key={s.kind} type="button" class="button mark-kind" data-test={`mark-${s.kind.replace(' ', '-')}`} disabled={action.busy} onClick={() => leave(s)}>
                <SignDrawing sign={s} size={56} />{s.label}
              </button>
            ))}
          </div>
          <fieldset class="choice">
            <legend>Where</legend>
            {(['bar', 'antenna'] as const).map((at) => (
              <button key={at} type="button" class="button plain" aria-pressed={markAt === at} data-test={`mark-at-${at}`} onClick={() => change({ markAt: at })}>
                {at === 'bar' ? 'At the bar' : 'At the antenna'}
              </button>
            ))}
          </fieldset>
          <Fault text={action.error} />
        </Sheet>
      ) : null}
    </>
  )
}

export function Toasts() {
  const { toasts, now } = useModel()
  const store = useStore()
  const action = useAction()
  return (
    <div class="toasts" role="status">
      {toasts.map((t) => (
        <div class="toast" key={t.id} data-test="toast">
          <span>{t.text}</span>
          {t.undo === undefined ? null : (
            <Act
              test="undo" disabled={action.busy} onClick={() => {
                const number = t.undo
                if (number !== undefined) {
                  action.run(() => api.undoMark(number), () => {
                    store.tell({ kind: 'toast done', id: t.id })
                    store.tell({ kind: 'marks changed' })
                  })
                }
              }}
            >
              Undo <span aria-hidden="true">({Math.max(0, Math.ceil((t.until - now) / 1000))})</span>
            </Act>
          )}
        </div>
      ))}
      <Fault text={action.error} />
    </div>
  )
}
