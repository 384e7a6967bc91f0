// Small parts that the panels share.

import { createContext } from 'preact'
import type { ComponentChildren } from 'preact'
import { useContext, useEffect, useLayoutEffect, useRef, useState } from 'preact/hooks'
import type { Answer } from '../api'
import { ages, empty, isOld, type Model, type Store } from '../store'
import type { Figure } from '../units'
import { recordedOnly, sentence, viewerOnly } from '../text/words'

export const StoreContext = createContext<Store | null>(null)

export function useStore(): Store {
  const store = useContext(StoreContext)
  if (store === null) throw new Error('no store around this part')
  return store
}

/** useModel is the model, anew at each change. */
export function useModel(): Model {
  const store = useStore()
  const [model, set] = useState(() => store?.get() ?? empty)
  useEffect(() => {
    set(store.get())
    return store.subscribe(() => set(store.get()))
  }, [store])
  return model
}

/** useWhyNot is why this device may not change the work, null where it may. */
export function useWhyNot(): string | null {
  const { access, state } = useModel()
  if (access?.role !== 'operator') return access === null ? 'There is no connection to the recorder yet.' : viewerOnly
  return state?.replay == null ? null : recordedOnly
}

/** useOffline tells whether the connection is lost: what is said now would reach nobody. */
export function useOffline(): boolean {
  return isOld(ages(useModel()).link)
}

/** A number with its unit; "unknown" where it is not known. */
export function Value({ of, old = false, test }: { of: Figure | null; old?: boolean; test?: string }) {
  return (
    <span class={old ? 'value is-old' : 'value'} data-test={test} data-old={old}>
      {of === null ? <span class="unknown">unknown</span> : <>{of.value}<span class="unit"> {of.symbol}</span></>}
    </span>
  )
}

/** A labelled figure. */
export function Card({ label, of, old, note, test }: { label: string; of: Figure | null; old?: boolean; note?: ComponentChildren; test: string }) {
  return (
    <div class="card">
      <div class="label">{label}</div>
      <Value of={of} old={old ?? false} test={test} />
      {note === undefined ? null : <div class="note">{note}</div>}
    </div>
  )
}

/** A button that changes something: off, with a word why, on a device that may only look and, unless always, in a recorded session. */
export function Act(p: { onClick: () => void; children: ComponentChildren; kind?: 'primary' | 'plain' | 'danger'; test: string; disabled?: boolean; label?: string; always?: boolean }) {
  const why = useWhyNot()
  const off = p.always === true ? why !== null && why !== recordedOnly : why !== null
  return (
    <button
      type="button" class={`button ${p.kind ?? 'plain'}`} data-test={p.test} disabled={off || p.disabled === true}
      title={off ? (why ?? undefined) : undefined} aria-label={p.label} onClick={p.onClick}
    >
      {p.children}
    </button>
  )
}

/** ViewerWord says why controls are off, where they are. */
export function ViewerWord() {
  const why = useWhyNot()
  return why === null ? null : <p class="quiet why" data-test="viewer-word">{why}</p>
}

/** useAction runs something that is said to the daemon; error is what went wrong, in words. */
export function useAction(): { busy: boolean; error: string | null; run<T>(what: () => Promise<Answer<T>>, then?: (value: T) => void): void } {
  const [busy, setBusy] = useState(false)
  const [error, setError] = useState<string | null>(null)
  return {
    busy,
    error,
    run(what, then) {
      setBusy(true)
      setError(null)
      void what().then((answer) => {
        setBusy(false)
        if (answer.ok) then?.(answer.value)
        else setError([answer.error, ...answer.faults.map((f) => `${f.member}: ${f.got}, want ${f.want}`)].join(' · '))
      })
    },
  }
}

export function Fault({ text }: { text: string | null }) {
  return <div role="alert">{text === null ? null : <p class="fault" data-test="fault">{sentence(text)}</p>}</div>
}

/** useEvery asks again and again while shown: at once, then each time ms after the answer. */
export function useEvery(ms: number, what: () => Promise<void>): void {
  const latest = useRef(what)
  latest.current = what
  useEffect(() => {
    let timer = 0
    let gone = false
    const again = () => {
      void latest.current().finally(() => { if (!gone) timer = window.setTimeout(again, ms) })
    }
    again()
    return () => { gone = true; clearTimeout(timer) }
  }, [ms])
}

const UnsavedContext = createContext<(more: number) => void>(() => { /* on no sheet */ })

/** useUnsaved has the sheet ask before it closes, as something is typed and not saved. */
export function useUnsaved(is: boolean): void {
  const count = useContext(UnsavedContext)
  useLayoutEffect(() => { // before anything else can close it
    if (!is) return
    count(1)
    return () => count(-1)
  }, [is, count])
}

/** A sheet over the screen; Escape and the button close it, at the second time where something is not saved. */
export function Sheet({ title, onClose, children, test }: { title: string; onClose: () => void; children: ComponentChildren; test: string }) {
  const ref = useRef<HTMLDialogElement>(null)
  const [unsaved, setUnsaved] = useState(0)
  const [asked, ask] = useState(false)
  const [count] = useState(() => (more: number) => { setUnsaved((n) => n + more); ask(false) })
  useEffect(() => { ref.current?.showModal() }, [])
  return (
    <dialog ref={ref} class="sheet" aria-label={title} data-test={test} onClose={onClose} onCancel={(e) => { if (unsaved > 0 && !asked) { e.preventDefault(); ask(true) } }}>
      <header>
        <h2>{title}</h2>
        {asked ? ( // what a second touch in the same place hits, loses nothing
          <div class="row from-right">
            <button type="button" class="button plain" data-test="stay" onClick={() => ask(false)}>Stay</button>
            <button type="button" class="button danger" data-test="close-unsaved" onClick={onClose}>Close without saving</button>
          </div>
        ) : <button type="button" class="button plain" data-test="close-sheet" onClick={() => { if (unsaved > 0) ask(true); else onClose() }}>Close</button>}
      </header>
      <div class="sheet-body"><UnsavedContext.Provider value={count}>{children}</UnsavedContext.Provider></div>
    </dialog>
  )
}
