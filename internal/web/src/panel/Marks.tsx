// One touch leaves a mark, of the kind that was left last; for ten seconds it can be
// made one of another kind, at the same place, or undone.

import { api } from '../api'
import { signs, type Sign } from '../signs'
import { change, useSettings } from '../settings'
import type { MarkToast } from '../store'
import type { State } from '../wire'
import { Act, Fault, useAction, useModel, useOffline, useStore } from './common'
import { SignDrawing } from './Sign'

const undoMs = 10_000

/** here is where a mark left now lies; it is kept for one that takes its place. */
function here(state: State | null, at: 'bar' | 'antenna'): [number, number] | null {
  const m = state?.machine
  const [left, right] = [m?.bar[0], m?.bar[m.bar.length - 1]]
  if (at === 'bar' && left !== undefined && right !== undefined) return [((left[0] ?? 0) + (right[0] ?? 0)) / 2, ((left[1] ?? 0) + (right[1] ?? 0)) / 2]
  const [lon, lat] = m?.antenna ?? []
  return lon === undefined || lat === undefined ? null : [lon, lat]
}

export function MarkButton() {
  const { state } = useModel()
  const store = useStore()
  const action = useAction()
  const offline = useOffline()
  const { markAt, markKind } = useSettings()
  const leave = () => {
    const kind = signs.some((s) => s.kind === markKind) ? markKind : 'stone'
    const at = here(state, markAt)
    action.run(() => api.mark(kind, markAt), (said) => {
      store.tell({ kind: 'marks changed' })
      if (said.mark !== null) store.tell({ kind: 'toast', toast: toastOf(kind, said.mark, at) })
    })
  }
  return (
    <>
      <Act kind="primary" test="mark" disabled={action.busy || offline} onClick={leave}>Mark</Act>
      <Fault text={action.error} />
    </>
  )
}

function toastOf(kind: string, number: number, at: [number, number] | null) {
  const now = performance.now()
  const label = signs.find((s) => s.kind === kind)?.label ?? kind
  return { id: now, text: `${label} marked`, until: now + undoMs, mark: { number, kind, at } }
}

export function Toasts() {
  const { toasts } = useModel()
  return <div class="toasts" role="status">{toasts.map((t) => <div class="toast" key={t.id} data-test="toast"><span>{t.text}</span>{t.mark === undefined ? null : <MarkChoice id={t.id} until={t.until} mark={t.mark} />}</div>)}</div>
}

/** MarkChoice makes a mark one of another kind, or undoes it. */
function MarkChoice({ id, until, mark }: { id: number; until: number; mark: MarkToast }) {
  const { now } = useModel()
  const store = useStore()
  const action = useAction()
  const undone = () => {
    store.tell({ kind: 'toast done', id })
    store.tell({ kind: 'marks changed' })
  }
  const instead = (sign: Sign) => {
    if (sign.kind === mark.kind) return
    action.run(async () => {
      const gone = await api.undoMark(mark.number)
      return gone.ok ? api.mark(sign.kind, mark.at ?? 'antenna') : gone
    }, (said) => {
      undone()
      change({ markKind: sign.kind })
      if (said.mark !== null) store.tell({ kind: 'toast', toast: toastOf(sign.kind, said.mark, mark.at) })
    })
  }
  return (
    <>
      <Act test="undo" disabled={action.busy} onClick={() => action.run(() => api.undoMark(mark.number), undone)}>
        Undo <span aria-hidden="true">({Math.max(0, Math.ceil((until - now) / 1000))})</span>
      </Act>
      <div class="mark-kinds" role="group" aria-label="What is there">
        {signs.map((s) => (
          <button key={s.kind} type="button" class="button plain mark-kind" data-test={`mark-${s.kind.replace(' ', '-')}`} aria-pressed={s.kind === mark.kind} disabled={action.busy} onClick={() => instead(s)}>
            <SignDrawing sign={s} size={36} />{s.label}
          </button>
        ))}
      </div>
      <Fault text={action.error} />
    </>
  )
}
