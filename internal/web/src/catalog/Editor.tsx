// One item being entered, with what belongs to it.

import type { JSX } from 'preact'
import { Fragment } from 'preact'
import { useState } from 'preact/hooks'
import { api } from '../api'
import { Act, Fault, useModel, useUnsaved } from '../panel/common'
import { show, systems } from '../units'
import type { Fault as FaultOf } from '../wire'
import { catalog, type Entered, type Item, type Kind } from './calls'
import { Conflict } from './Conflict'
import { draftOf, itemOf } from './draft'
import { forms, inputsOf } from './forms'
import { BlendAnalysis, RateHelp, SeedHelp } from './Help'
import { One, Rows, Sections, type Form } from './Inputs'
import { outlineFrom } from './outline'
import { TopView } from './TopView'
import type { Measures } from './topview'

export function Editor({ kind, start, products, onDone, onSaved, below }: {
  kind: Kind
  start: Entered
  products: readonly Item[]
  /** it is left: saved, removed or as it was */
  onDone: () => void
  /** it was saved and is as given */
  onSaved: (item: Item) => void
  /** what belongs to the item, once it is saved */
  below: ((item: Item) => JSX.Element) | undefined
}) {
  const { state } = useModel()
  const system = state?.units ?? 'metric'
  const unit = systems[system].length
  const [base, setBase] = useState(start)
  const [draft, setDraft] = useState(() => draftOf(forms[kind], start, unit))
  const [outline, setOutline] = useState<unknown>(start['boundary']) // of a field
  const [faults, setFaults] = useState<readonly FaultOf[]>([])
  const [error, setError] = useState<string | null>(null)
  const [conflict, setConflict] = useState<{ mine: Entered; theirs: Item } | null>(null)
  const [active, setActive] = useState<string | null>(null)
  const [busy, setBusy] = useState(false)
  const [leaving, setLeaving] = useState<'leave' | 'remove' | null>(null)
  const [saved, setSaved] = useState(false)
  const begun = draftOf(forms[kind], base, unit)
  const dirty = JSON.stringify(begun) !== JSON.stringify(draft) || JSON.stringify(outline) !== JSON.stringify(base['boundary'])
  useUnsaved(dirty)
  const form: Form = { draft, set: (d) => { setDraft(d); setSaved(false) }, faults, unit, products, active: setActive }
  const value = (m: string) => draft.text[m] ?? ''
  const entered = itemOf(kind, draft, base, unit)
  if (kind === 'fields') {
    if (outline === null || outline === undefined) entered.item['boundary'] = null
    else entered.item['boundary'] = outline
  }
  const take = (item: Item) => {
    setBase(item)
    setDraft(draftOf(forms[kind], item, unit))
    setOutline(item['boundary'])
    setFaults([])
    setError(null)
    setConflict(null)
  }
  const save = (item: Entered) => {
    setBusy(true)
    setError(null)
    void catalog.save(kind, item).then((o) => {
      setBusy(false)
      if (o.was === 'saved') { take(o.item); setSaved(true); onSaved(o.item) }
      else if (o.was === 'conflict') setConflict({ mine: item, theirs: o.current })
      else {
        setFaults(o.faults)
        const shown = new Set([...inputsOf(kind, value).map((i) => i.member)])
        const others = o.faults.filter((f) => !shown.has(f.member) && !/^(sections_m|parts|substances)/.test(f.member))
        setError([o.faults.length > 0 ? 'Not saved: mend what is marked.' : o.error, ...others.map((f) => `${f.member}: ${f.got}, want ${f.want}`)].join(' '))
      }
    })
  }
  const submit = () => {
    if (entered.faults.length > 0) { setFaults(entered.faults); setError('Not saved: mend what is marked.'); return }
    save(entered.item)
  }
  const remove = (how: 'remove' | 'archive' | 'restore') => {
    const item = base as Item
    setBusy(true)
    void (how === 'remove' ? catalog.remove(kind, item).then((a) => (a.ok ? null : a.error)) : catalog.archive(kind, item, how === 'archive').then((o) => (o.was === 'saved' ? null : o.was === 'conflict' ? 'Somebody else changed it meanwhile: go back and look at it again.' : o.error)))
      .then((e) => { setBusy(false); setError(e); setLeaving(null); if (e === null) onDone() })
  }
  let group: string | undefined
  const measures = kind === 'implements' || kind === 'tractors' ? measuresOf(kind, entered.item) : null
  return (
    <section class="farm-editor" data-test={`edit-${kind}`}>
      {conflict === null ? null : <Conflict kind={kind} base={base} mine={conflict.mine} theirs={conflict.theirs} onKeep={save} onTheirs={() => { take(conflict.theirs); onSaved(conflict.theirs) }} />}
      <form class={measures === null ? '' : 'farm-split'} onSubmit={(e) => { e.preventDefault(); submit() }}>
        <div class="farm-inputs">
          {inputsOf(kind, value).filter((i) => i.type !== 'note').map((i) => {
            const heading = i.group !== undefined && i.group !== group ? i.group : null
            group = i.group
            return (
              <Fragment key={i.member}>
                {heading === null ? null : <h3 class="wide">{heading}</h3>}
                <One input={i} form={form} />
              </Fragment>
            )
          })}
          {kind === 'implements' ? <Sections form={form} /> : null}
          {kind === 'products' && value('kind') === 'blend' ? <Rows form={form} member="parts" own={base.id} /> : null}
          {kind === 'products' && ['crop protection', 'seed treatment'].includes(value('kind')) ? (
            <>
              <Rows form={form} member="substances" own={base.id} />
              <p class="caution wide" data-test="label-caution">These limits are your own copy. The product’s label, local rules and a licensed person decide; drawbar holds no label database and does not know whether what stands here is right.</p>
            </>
          ) : null}
          {kind === 'fields' ? <Boundary outline={outline} areaM2={outline === base['boundary'] ? (base['area_m2'] as number | null | undefined) : undefined} set={(o) => { setOutline(o); setSaved(false) }} fault={faults.find((f) => f.member.startsWith('boundary'))} /> : null}
          {forms[kind].filter((i) => i.type === 'note').map((i) => <One key={i.member} input={i} form={form} />)}
          {kind === 'plans' ? <RateHelp product={products.find((p) => p.id === value('product'))} rate={value('rate')} system={system} /> : null}
        </div>
        {measures === null ? null : <TopView of={measures} active={active} unit={unit} />}
        {kind === 'products' && value('kind') === 'blend' ? <BlendAnalysis product={entered.item} /> : null}
        {kind === 'products' && value('kind') === 'seed' ? <SeedHelp product={entered.item} system={system} /> : null}
        <Fault text={error} />
        <div class="row farm-do">
          <SaveButton busy={busy || conflict !== null} />
          {leaving === 'leave' ? <button type="button" class="button danger" data-test="leave" onClick={onDone}>Leave without saving</button> : <button type="button" class="button plain" data-test="back" onClick={() => { if (dirty) setLeaving('leave'); else onDone() }}>Back</button>}
          {base.id === undefined ? null : (
            <>
              <Act test="archive" always disabled={busy || dirty} onClick={() => remove(base.archived === true ? 'restore' : 'archive')}>{base.archived === true ? 'Use again' : 'Archive'}</Act>
              {leaving === 'remove' ? <Act test="remove-sure" kind="danger" always disabled={busy} onClick={() => remove('remove')}>Remove for good</Act> : <Act test="remove" always disabled={busy || dirty} onClick={() => setLeaving('remove')}>Remove</Act>}
            </>
          )}
          <span class="quiet" role="status" data-test="saved">{saved && !dirty ? 'Saved.' : dirty ? 'Not saved yet.' : ''}</span>
        </div>
        {leaving === 'remove' ? <p class="quiet">What other things refer to is archived instead, and keeps its name in old records.</p> : null}
      </form>
      {base.id === undefined || below === undefined || dirty ? null : below(base as Item)}
    </section>
  )
}

function SaveButton({ busy }: { busy: boolean }) {
  const { access } = useModel()
  return <button type="submit" class="button primary" data-test="save" disabled={busy || access?.role !== 'operator'}>Save</button>
}

function measuresOf(kind: Kind, item: Entered): Measures {
  const n = (m: string) => (typeof item[m] === 'number' ? item[m] : 0)
  return {
    antenna_to_hitch_m: n('antenna_to_hitch_m'), antenna_right_m: n('antenna_right_m'),
    antenna_to_linkage_m: typeof item['antenna_to_linkage_m'] === 'number' ? item['antenna_to_linkage_m'] : null,
    implement: kind === 'implements' ? { towed: item['mount'] === 'towed', hitch_to_axle_m: n('hitch_to_axle_m'), hitch_to_bar_m: n('hitch_to_bar_m'), bar_right_m: n('bar_right_m'), sections_m: (item['sections_m'] as number[] | undefined) ?? [] } : null,
  }
}

/** The outline of a field: from the ground worked, or from a file. */
function Boundary({ outline, areaM2, set, fault }: { outline: unknown; areaM2: number | null | undefined; set: (o: unknown) => void; fault: FaultOf | undefined }) {
  const { state } = useModel()
  const [error, setError] = useState<string | null>(null)
  const system = state?.units ?? 'metric'
  const worked = () => void api.outlineOfWork().then((a) => {
    if (!a.ok) setError(a.error)
    else if (a.value.boundary === null) setError(a.value.reason ?? 'Nothing was worked yet.')
    else { setError(null); set(a.value.boundary) }
  })
  const read = (file: File | undefined) => void file?.text().then((text) => {
    const found = outlineFrom(text)
    if ('error' in found) setError(found.error)
    else { setError(null); set(found.outline) }
  })
  return (
    <fieldset class="wide" data-test="outline">
      <legend>Boundary</legend>
      <p>{outline === null || outline === undefined ? 'None yet: remaining ground and skips are then not known.' : areaM2 === undefined || areaM2 === null ? 'A new outline; its area is worked out when it is saved.' : `Known, ${show(system, 'area', areaM2)} inside.`}</p>
      <div class="row">
        <button type="button" class="button plain" data-test="outline-work" onClick={worked}>Around the ground worked now</button>
        <label class="button plain farm-file">From a GeoJSON file<input type="file" accept=".geojson,.json,application/geo+json" data-test="outline-file" onChange={(e) => { read(e.currentTarget.files?.[0]); e.currentTarget.value = '' }} /></label>
        {outline === null || outline === undefined ? null : <button type="button" class="button plain" data-test="outline-none" onClick={() => set(null)}>Take it away</button>}
      </div>
      {fault === undefined ? null : <p class="wrong">{fault.member}: {fault.got}, want {fault.want}</p>}
      <Fault text={error} />
    </fieldset>
  )
}
