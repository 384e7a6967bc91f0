// The bench for line profiles: fill in, try on the last minute, copy the YAML.

import { useState } from 'preact/hooks'
import { api } from '../api'
import { checksums, fields, firsts, formats, noColumn, noDraft, profileOf, takesTank, type ColumnDraft, type Draft, type Kind } from '../profile'
import type { Trial } from '../wire'
import { LineTable } from './Arrivals'
import { Fault, useAction } from './common'

const kinds: [Kind, string][] = [['keyvalue', 'key=value pairs'], ['delimited', 'Columns'], ['pattern', 'Pattern']]

export function ProfileBench() {
  const [draft, setDraft] = useState<Draft>(noDraft)
  const [trial, setTrial] = useState<Trial | null>(null)
  const action = useAction()
  const set = (part: Partial<Draft>) => setDraft({ ...draft, ...part })
  return (
    <form data-test="profile" onSubmit={(e) => { e.preventDefault(); action.run(() => api.tryProfile(profileOf(draft)), setTrial) }}>
      <p>Nothing is changed by trying: the lines of the last minute are read with this profile.</p>
      <div class="choice" role="group" aria-label="Kind of line">
        {kinds.map(([kind, label]) => <button key={kind} type="button" class="button plain" aria-pressed={draft.kind === kind} data-test={`profile-${kind}`} onClick={() => set({ kind })}>{label}</button>)}
      </div>
      {draft.kind === 'delimited' ? (
        <div class="row">
          <Text label="Separator" value={draft.separator} set={(separator) => set({ separator })} test="profile-separator" />
          <Choice label="Checksum" value={draft.checksum} of={checksums} set={(checksum) => set({ checksum })} />
          <label class="check"><input type="checkbox" checked={draft.header} onInput={(e) => set({ header: e.currentTarget.checked })} />The first line names the columns</label>
        </div>
      ) : null}
      {draft.kind === 'pattern' ? <Text label="Pattern, with named groups such as (?P<rate>[\d.]+)" value={draft.pattern} set={(pattern) => set({ pattern })} test="profile-pattern" wide /> : null}
      {draft.kind === 'keyvalue' ? null : <Columns draft={draft} set={set} />}
      <fieldset class="row">
        <legend>Units where the line states none</legend>
        {(['rate', 'flow', 'total', 'level', 'speed'] as const).map((u) => <Text key={u} label={u} value={draft.units[u]} set={(v) => set({ units: { ...draft.units, [u]: v } })} test={`profile-unit-${u}`} />)}
      </fieldset>
      <button type="submit" class="button primary" data-test="profile-try" disabled={action.busy}>Try it</button>
      <Fault text={action.error} />
      {trial === null ? null : <Result trial={trial} />}
    </form>
  )
}

function Columns({ draft, set }: { draft: Draft; set: (part: Partial<Draft>) => void }) {
  const change = (at: number, part: Partial<ColumnDraft>) => set({ columns: draft.columns.map((c, i) => (i === at ? { ...c, ...part } : c)) })
  return (
    <fieldset>
      <legend>{draft.kind === 'pattern' ? 'Groups' : 'Columns, by number from 1 or by name'}</legend>
      {draft.columns.map((c, i) => (
        <div class="row columns" key={i} data-test="profile-column">
          <Text label={draft.kind === 'pattern' ? 'Group' : 'Column'} value={c.column} set={(column) => change(i, { column })} test="column-name" />
          <Choice label="is" value={c.field} of={fields} set={(field) => change(i, { field })} />
          {takesTank(c.field) ? <Text label="Tank, or its column" value={c.tank} set={(tank) => change(i, { tank })} test="column-tank" /> : null}
          {c.field === 'sections' ? (
            <>
              <Choice label="as" value={c.format} of={formats} set={(format) => change(i, { format })} />
              <Choice label="first is" value={c.first} of={firsts} set={(first) => change(i, { first })} />
            </>
          ) : c.field === 'work' ? null : (
            <>
              <Text label="Unit" value={c.unit} set={(unit) => change(i, { unit })} test="column-unit" />
              <Text label="times" value={c.scale} set={(scale) => change(i, { scale })} test="column-scale" />
              <Text label="plus" value={c.offset} set={(offset) => change(i, { offset })} test="column-offset" />
            </>
          )}
          <button type="button" class="button plain" aria-label={`Remove ${c.column === '' ? 'this one' : c.column}`} onClick={() => set({ columns: draft.columns.filter((_, at) => at !== i) })}>Remove</button>
        </div>
      ))}
      <button type="button" class="button plain" data-test="add-column" onClick={() => set({ columns: [...draft.columns, noColumn] })}>Add one</button>
    </fieldset>
  )
}

function Result({ trial: t }: { trial: Trial }) {
  const [copied, setCopied] = useState(false)
  const faults = t.faults
  return (
    <section data-test="trial">
      {faults.length > 0 ? <ul class="faults">{faults.map((f) => <li key={f.member} class="fault">{f.member}: {f.got}; want {f.want}</li>)}</ul> : (
        <p class="big"><strong data-test="trial-reports">{t.reports}</strong> lines read, <strong data-test="trial-rejected">{t.rejected}</strong> not.</p>
      )}
      {t.lines.length === 0 ? null : <LineTable lines={t.lines.slice(-50)} caption="Lines read with this profile" />}
      {t.yaml === '' ? null : (
        <>
          <h3>For the configuration</h3>
          <pre tabIndex={0} data-test="trial-yaml">{t.yaml}</pre>
          <button type="button" class="button plain" data-test="copy-yaml" onClick={() => void navigator.clipboard?.writeText(t.yaml).then(() => setCopied(true))}>{copied ? 'Copied' : 'Copy'}</button>
        </>
      )}
    </section>
  )
}

function Text(p: { label: string; value: string; set: (v: string) => void; test: string; wide?: boolean }) {
  return <label class={p.wide === true ? 'field wide' : 'field'}>{p.label}<input type="text" value={p.value} data-test={p.test} autoComplete="off" spellcheck={false} onInput={(e) => p.set(e.currentTarget.value)} /></label>
}

function Choice<T extends string>(p: { label: string; value: T; of: readonly T[]; set: (v: T) => void }) {
  return (
    <label class="field">{p.label}
      <select value={p.value} onChange={(e) => { const chosen = p.of[e.currentTarget.selectedIndex]; if (chosen !== undefined) p.set(chosen) }}>{p.of.map((v) => <option key={v} value={v}>{v}</option>)}</select>
    </label>
  )
}
