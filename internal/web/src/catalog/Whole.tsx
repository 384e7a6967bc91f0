// The whole catalogue as one text file, out and in.

import { useState } from 'preact/hooks'
import { Act, Fault } from '../panel/common'
import { catalog, type Imported } from './calls'

export function Whole() {
  const [text, setText] = useState<{ name: string; text: string } | null>(null)
  const [replace, setReplace] = useState(false)
  const [done, setDone] = useState<Imported | null>(null)
  const [error, setError] = useState<string | null>(null)
  const [busy, setBusy] = useState(false)
  const take = () => {
    if (text === null) return
    setBusy(true)
    setDone(null)
    void catalog.take(text.text, replace).then((a) => {
      setBusy(false)
      setError(a.ok ? null : [a.error, ...a.faults.slice(0, 8).map((f) => `${f.line === undefined ? '' : `line ${f.line}, `}${f.member}: ${f.got}, want ${f.want}`)].join(' · '))
      if (a.ok) { setDone(a.value); setText(null) }
    })
  }
  return (
    <section data-test="whole">
      <h3>Out</h3>
      <p>Everything in one text file, to keep or to take to another board.</p>
      <div class="row">
        <a class="button plain" href={catalog.exportAt('yaml')} download="farm.yaml" data-test="export-yaml">As YAML</a>
        <a class="button plain" href={catalog.exportAt('json')} download="farm.json" data-test="export-json">As JSON</a>
      </div>
      <h3>In</h3>
      <p>A file that was written so. All of it is taken in, or with any fault nothing.</p>
      <div class="row">
        <label class="button plain farm-file">Choose a file<input type="file" accept=".yaml,.yml,.json" data-test="import-file" onChange={(e) => {
          const file = e.currentTarget.files?.[0]
          setDone(null)
          setError(null)
          void file?.text().then((t) => setText({ name: file.name, text: t }))
          e.currentTarget.value = ''
        }} /></label>
        <label class="check"><input type="checkbox" checked={replace} data-test="import-replace" onChange={(e) => setReplace(e.currentTarget.checked)} />in the place of all that is here</label>
      </div>
      {text === null ? null : (
        <div class="pane">
          <p>{text.name}{replace ? ': what is here and not in the file is removed.' : ': what is new is added, nothing is changed.'}</p>
          <Act test="import" kind={replace ? 'danger' : 'primary'} always disabled={busy} onClick={take}>{replace ? 'Replace the catalogue' : 'Take it in'}</Act>
        </div>
      )}
      <p role="status" data-test="imported">{done === null ? '' : `${done.added} added, ${done.changed} changed, ${done.removed} removed, ${done.same} as before.`}</p>
      <Fault text={error} />
    </section>
  )
}
