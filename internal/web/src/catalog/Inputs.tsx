// The inputs of a form, by the type of what is entered.

import type { Fault } from '../wire'
import type { Item } from './calls'
import type { Draft, Length, Row } from './draft'
import type { Input } from './forms'

export interface Form {
  draft: Draft
  set: (d: Draft) => void
  faults: readonly Fault[]
  unit: Length
  products: readonly Item[]
  /** member that has the focus */
  active: (member: string | null) => void
}

const faultOf = (faults: readonly Fault[], member: string) => faults.find((f) => f.member === member)

/** Word says what is wrong with a member. */
function Word({ fault, id }: { fault: Fault | undefined; id: string }) {
  return fault === undefined ? null : <span class="wrong" id={id} data-test={`wrong-${fault.member}`}>{fault.got === '' ? '' : `${fault.got}: `}want {fault.want}</span>
}

export function One({ input, form }: { input: Input; form: Form }) {
  const { draft, set, faults, unit, products } = form
  const value = draft.text[input.member] ?? ''
  const change = (v: string) => set({ ...draft, text: { ...draft.text, [input.member]: v } })
  const fault = faultOf(faults, input.member)
  const id = `why-${input.member}`
  const common = { 'data-test': `in-${input.member}`, 'aria-invalid': fault !== undefined, 'aria-describedby': fault === undefined ? undefined : id, onFocus: () => form.active(input.member), onBlur: () => form.active(null) }
  const label = input.type === 'length' ? `${input.label}, ${unit.symbol}` : input.label
  if (input.type === 'choice' && (input.choices?.length ?? 0) <= 3) {
    return (
      <fieldset class="choice">
        <legend>{label}</legend>
        {input.choices?.map(([v, word]) => <button key={v} type="button" class="button plain" aria-pressed={value === v} data-test={`in-${input.member}-${v}`} onClick={() => change(v)}>{word}</button>)}
      </fieldset>
    )
  }
  const list = `list-${input.member}`
  const chosen = input.type === 'seed' ? products.filter((p) => p['kind'] === 'seed') : products
  return (
    <label class={`field ${input.type === 'note' ? 'wide' : 'farm-field'}`}>
      {label}
      {input.type === 'note' ? <textarea rows={2} value={value} {...common} onInput={(e) => change(e.currentTarget.value)} />
        : input.type === 'choice' ? <select value={value} {...common} onChange={(e) => change(e.currentTarget.value)}>{input.choices?.map(([v, word]) => <option key={v} value={v}>{word}</option>)}</select>
          : input.type === 'product' || input.type === 'seed' ? (
            <select value={value} {...common} onChange={(e) => change(e.currentTarget.value)}>
              <option value="">{input.type === 'seed' ? 'any seed' : 'choose…'}</option>
              {chosen.filter((p) => !p.archived || p.id === value).map((p) => <option key={p.id} value={p.id}>{String(p['name'])}</option>)}
            </select>
          ) : <input type={input.type === 'date' ? 'date' : 'text'} inputMode={input.type === 'number' || input.type === 'length' ? 'decimal' : input.type === 'whole' ? 'numeric' : 'text'} autoComplete="off" value={value} list={input.suggest === undefined ? undefined : list} {...common} onInput={(e) => change(e.currentTarget.value)} />}
      {input.suggest === undefined ? null : <datalist id={list}>{input.suggest.map((s) => <option key={s} value={s} />)}</datalist>}
      {input.hint === undefined || fault !== undefined ? null : <span class="note">{input.hint}</span>}
      <Word fault={fault} id={id} />
    </label>
  )
}

/** The widths of the sections, left to right. */
export function Sections({ form }: { form: Form }) {
  const { draft, set, faults, unit } = form
  const put = (sections: string[]) => set({ ...draft, sections })
  const last = draft.sections[draft.sections.length - 1] ?? '3'
  return (
    <fieldset data-test="sections">
      <legend>Sections, left to right, {unit.symbol}</legend>
      <div class="farm-sections">
        {draft.sections.map((s, k) => (
          <label key={k} class="field">
            {k + 1}
            <input type="text" inputMode="decimal" autoComplete="off" value={s} data-test={`in-sections_m[${k}]`} aria-label={`Width of section ${k + 1}, ${unit.symbol}`} aria-invalid={faultOf(faults, `sections_m[${k}]`) !== undefined}
              onFocus={() => form.active(`sections_m[${k}]`)} onBlur={() => form.active(null)} onInput={(e) => put(draft.sections.map((was, i) => (i === k ? e.currentTarget.value : was)))} />
          </label>
        ))}
      </div>
      {faults.filter((f) => f.member.startsWith('sections_m')).map((f) => <Word key={f.member} fault={f} id={`why-${f.member}`} />)}
      <div class="row">
        <button type="button" class="button plain" data-test="more-sections" disabled={draft.sections.length >= 256} onClick={() => put([...draft.sections, last])}>One more</button>
        <button type="button" class="button plain" data-test="fewer-sections" disabled={draft.sections.length <= 1} onClick={() => put(draft.sections.slice(0, -1))}>One less</button>
        <button type="button" class="button plain" disabled={draft.sections.length < 2} onClick={() => put(draft.sections.map(() => draft.sections[0] ?? '3'))}>All as the first</button>
      </div>
    </fieldset>
  )
}

/** Rows of two: the parts of a blend, or the active substances of a product. */
export function Rows({ form, member, own }: { form: Form; member: 'parts' | 'substances'; own: string | undefined }) {
  const { draft, set, faults, products } = form
  const rows = draft[member]
  const put = (list: Row[]) => set({ ...draft, [member]: list })
  const change = (k: number, part: Partial<Row>) => put(rows.map((r, i) => (i === k ? { ...r, ...part } : r)))
  const [first, second] = member === 'parts' ? ['Product', 'Share'] : ['Active substance', 'Content']
  return (
    <fieldset data-test={member}>
      <legend>{member === 'parts' ? 'Parts, with their shares beside one another' : 'Active substances, as on the label'}</legend>
      {rows.map((r, k) => (
        <div class="row farm-part" key={k}>
          <label class="field farm-field">{first}
            {member === 'parts' ? (
              <select value={r.a} data-test={`in-parts[${k}].product`} onChange={(e) => change(k, { a: e.currentTarget.value })}>
                <option value="">choose…</option>
                {products.filter((p) => p.id !== own && (!p.archived || p.id === r.a)).map((p) => <option key={p.id} value={p.id}>{String(p['name'])}</option>)}
              </select>
            ) : <input type="text" value={r.a} data-test={`in-substances[${k}].name`} onInput={(e) => change(k, { a: e.currentTarget.value })} />}
          </label>
          <label class="field farm-short">{second}
            <input type="text" inputMode={member === 'parts' ? 'decimal' : 'text'} value={r.b} data-test={`in-${member}[${k}].${member === 'parts' ? 'share' : 'content'}`} onInput={(e) => change(k, { b: e.currentTarget.value })} />
          </label>
          <button type="button" class="button plain" aria-label={`Take out ${first.toLowerCase()} ${k + 1}`} onClick={() => put(rows.filter((_, i) => i !== k))}>Take out</button>
        </div>
      ))}
      {faults.filter((f) => f.member.startsWith(member)).map((f) => <Word key={f.member} fault={f} id={`why-${f.member}`} />)}
      <button type="button" class="button plain" data-test={`add-${member}`} onClick={() => put([...rows, { a: '', b: member === 'parts' ? '1' : '' }])}>{member === 'parts' ? 'Add a part' : 'Add a substance'}</button>
    </fieldset>
  )
}
