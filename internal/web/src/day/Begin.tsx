// Beginning work otherwise than suggested: plans, implement, tractor and person, with
// what would be said beside it.

import { useEffect, useState } from 'preact/hooks'
import { Act, Fault, Sheet, useAction, useOffline, ViewerWord } from '../panel/common'
import { Cautions, Chips, Lacks, useChoices } from './common'
import { day, type Begin, type Choices, type Saying } from './day'
import { startText } from './words'

export function BeginSheet({ field, onClose }: { field: string | null; onClose: () => void }) {
  const { choices, error } = useChoices(field, 15_000)
  return (
    <Sheet title={choices?.field == null ? 'Work' : `Work in ${choices.field}`} test="begin-sheet" onClose={onClose}>
      <ViewerWord />
      <Fault text={error} />
      {choices === null ? <p class="quiet">Asking the recorder …</p> : <Choosing key={choices.field} choices={choices} onDone={onClose} />}
    </Sheet>
  )
}

function Choosing({ choices: c, onDone }: { choices: Choices; onDone: () => void }) {
  const [begin, setBegin] = useState<Begin>(c.begin)
  const [would, setWould] = useState<Saying>(c.would)
  const [problem, setProblem] = useState<string | null>(null)
  const action = useAction()
  const offline = useOffline()
  const text = JSON.stringify(begin)
  useEffect(() => {
    let gone = false
    void day.tryBegin(begin).then((answer) => {
      if (gone) return
      if (answer.ok) setWould(answer.value)
      setProblem(answer.ok ? null : [answer.error, ...answer.faults.map((f) => `${f.got}: want ${f.want}`)].join(' · '))
    })
    return () => { gone = true }
  }, [text])
  const chosen = begin.plans ?? []
  const toggle = (id: string) => {
    const plan = c.plans.find((p) => p.id === id)
    if (plan === undefined) return
    // plans of another operation do not go on with it
    const kept = chosen.filter((other) => c.plans.find((p) => p.id === other)?.operation === plan.operation)
    setBegin({ ...begin, plans: kept.includes(id) ? kept.filter((other) => other !== id) : [...kept, id], operation: plan.operation, tanks: [] })
  }
  const tools = c.implements.map((i) => i.name)
  return (
    <>
      {c.seasons.length > 1 ? <Chips legend="Crop" of={c.seasons.map((s) => s.id)} value={begin.season ?? null} test="season" onPick={(season) => setBegin({ ...begin, season })} label={(id) => { const s = c.seasons.find((x) => x.id === id); return s === undefined ? id : `${s.crop}, ${s.when}` }} /> : null}
      <section>
        <h3>Planned</h3>
        {c.plans.length === 0 ? <p class="quiet">Nothing is planned here for this season.</p> : null}
        <ul class="plans">
          {c.plans.map((p) => (
            <li key={p.id}>
              <button type="button" class="button plain" aria-pressed={chosen.includes(p.id)} data-test="plan" onClick={() => toggle(p.id)}>
                <span>{p.order}. {p.operation}: {p.product} {p.rate}</span>
                <span class="note">{[p.tank === null ? '' : `tank ${p.tank}`, p.done_share === null ? '' : `${Math.round(p.done_share * 100)} % done`, p.note].filter((t) => t !== '').join(', ')}</span>
              </button>
            </li>
          ))}
        </ul>
      </section>
      <Chips legend="Implement" of={tools} value={begin.implement ?? c.now.implement ?? null} test="implement" onPick={(implement) => setBegin({ ...begin, implement })} />
      <Chips legend="Tractor" of={c.tractors.map((t) => t.name)} value={begin.tractor ?? null} test="tractor" onPick={(tractor) => setBegin({ ...begin, tractor })} />
      <Chips legend="Who works" of={c.people.map((p) => p.name)} value={begin.person ?? c.now.person} test="person" onPick={(person) => setBegin({ ...begin, person })} />
      <Cautions of={would.cautions} />
      <Lacks of={would.lacks} />
      <Act kind="primary" test="begin" disabled={action.busy || offline || problem !== null} onClick={() => action.run(() => day.begin(begin), onDone)}>{startText(would.words)}</Act>
      <Fault text={action.error ?? problem} />
    </>
  )
}

/** WhoSheet says who works from now on. */
export function WhoSheet({ onClose }: { onClose: () => void }) {
  const { choices, error } = useChoices(null, 15_000)
  const [name, setName] = useState('')
  const action = useAction()
  const say = (person: string) => action.run(() => day.person(person), onClose)
  return (
    <Sheet title="Who works" test="who-sheet" onClose={onClose}>
      <ViewerWord />
      <p class="big" data-test="who-now">{choices?.now.person == null ? 'Nobody is named.' : `${choices.now.person} works.`}</p>
      <div class="choice">
        {(choices?.people ?? []).map((p) => <Act key={p.id} test="who" disabled={action.busy} onClick={() => say(p.name)}>{p.name}</Act>)}
        {choices?.now.person == null ? null : <Act test="nobody" disabled={action.busy} onClick={() => say('')}>Nobody</Act>}
      </div>
      <div class="row">
        <label class="field wide">Another name or role<input type="text" autocomplete="off" maxLength={200} value={name} data-test="who-name" onInput={(e) => setName(e.currentTarget.value)} /></label>
        <Act kind="primary" test="who-say" disabled={action.busy || name.trim() === ''} onClick={() => say(name.trim())}>That is who</Act>
      </div>
      <Fault text={action.error ?? error} />
    </Sheet>
  )
}

/** ToolSheet says what is behind the tractor from now on. */
export function ToolSheet({ onClose }: { onClose: () => void }) {
  const { choices, error } = useChoices(null, 15_000)
  const [tool, setTool] = useState<string | null>(null)
  const [tractor, setTractor] = useState<string | null>(null)
  const action = useAction()
  const c = choices
  return (
    <Sheet title="Implement" test="tool-sheet" onClose={onClose}>
      <ViewerWord />
      <p class="big">{c?.now.implement == null ? 'No implement is stated.' : `Behind the tractor: ${c.now.implement === '' ? 'an implement without a name' : c.now.implement}.`}</p>
      {c !== null && c.implements.length === 0 ? <p class="quiet">The catalogue has none: add it under More.</p> : null}
      <Chips legend="Which is it?" of={(c?.implements ?? []).map((i) => i.name)} value={tool} test="tool" onPick={setTool}
        label={(name) => { const i = c?.implements.find((x) => x.name === name); return i === undefined ? name : `${name} (${i.sections} ${i.sections === 1 ? 'section' : 'sections'})` }} />
      <Chips legend="Which tractor pulls it?" of={(c?.tractors ?? []).map((t) => t.name)} value={tractor} test="tool-tractor" onPick={setTractor} />
      <p class="quiet">It holds from now on; what is behind you stays as it was recorded.</p>
      <Act kind="primary" test="tool-say" disabled={action.busy || (tool === null && tractor === null)} onClick={() => action.run(() => day.begin({ ...(tool === null ? {} : { implement: tool }), ...(tractor === null ? {} : { tractor }) }), onClose)}>This is behind the tractor</Act>
      <Fault text={action.error ?? error} />
    </Sheet>
  )
}
