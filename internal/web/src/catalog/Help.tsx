// What follows from a product while it is entered: the analysis of a blend, the rate of
// a seed for a stand of plants, the nutrients of a rate. The daemon works it out.

import { useEffect, useState } from 'preact/hooks'
import { show, systems, type System } from '../units'
import { catalog, type Entered, type WorkedOut } from './calls'
import { number } from './draft'

/** useWorkedOut asks a little after the last change; null where nothing is known. */
function useWorkedOut(what: Parameters<typeof catalog.workOut>[0] | null): WorkedOut | null {
  const [out, set] = useState<WorkedOut | null>(null)
  const key = JSON.stringify(what)
  useEffect(() => {
    if (what === null) { set(null); return undefined }
    let late = false
    const timer = window.setTimeout(() => {
      void catalog.workOut(what).then((a) => { if (!late) set(a.ok ? a.value : null) })
    }, 350)
    return () => { late = true; clearTimeout(timer) }
  }, [key])
  return out
}

const pct = (v: number | null) => (v === null ? 'unknown' : `${v.toFixed(1)} %`)

/** The analysis of a blend as it follows from its parts. */
export function BlendAnalysis({ product }: { product: Entered }) {
  const w = useWorkedOut({ product: { ...product, name: product['name'] ?? 'blend' } })
  const c = w?.composition
  return (
    <section class="pane" data-test="blend-analysis" aria-live="polite">
      <h3>Analysis of the blend</h3>
      {c === undefined ? <p class="quiet">It follows once the parts and their shares are there.</p> : (
        <dl class="farm-figures">
          {([['N', c.n_pct], ['P₂O₅', c.p2o5_pct], ['K₂O', c.k2o_pct], ['S', c.s_pct]] as const).map(([name, v]) => <div key={name}><dt>{name}</dt><dd data-test={`blend-${name}`}>{pct(v)}</dd></div>)}
          <div><dt>Density</dt><dd>{c.density_kg_per_l === null ? 'unknown' : `${c.density_kg_per_l.toFixed(2)} kg/l`}</dd></div>
        </dl>
      )}
      <p class="quiet">Worked out from the parts. A part without an analysis leaves it unknown.</p>
    </section>
  )
}

/** How much seed a stand of plants takes. */
export function SeedHelp({ product, system }: { product: Entered; system: System }) {
  const [plants, setPlants] = useState('')
  const [survival, setSurvival] = useState('90')
  const [rows, setRows] = useState('')
  const [p, s, r] = [number(plants), number(survival), number(rows)]
  const stand = systems[system].count_rate
  const over = stand.symbol.replace('seeds/', '').replace('m2', 'm²').replace('ft2', 'ft²')
  const row = system === 'metric' ? { symbol: 'cm', m: 0.01 } : { symbol: 'in', m: 0.0254 }
  const w = useWorkedOut(p === null || s === null ? null : { product: { ...product, name: product['name'] ?? 'seed' }, plants_per_m2: p * stand.si, survival_pct: s, ...(r === null ? {} : { row_spacing_m: r * row.m }) })
  const field = (label: string, value: string, set: (v: string) => void, test: string) => (
    <label class="field farm-short">{label}<input type="text" inputMode="decimal" value={value} data-test={test} onInput={(e) => set(e.currentTarget.value)} /></label>
  )
  return (
    <section class="pane" data-test="seed-help">
      <h3>How much seed for a stand</h3>
      <div class="row">
        {field(`Plants per ${over}`, plants, setPlants, 'plants')}
        {field('Of those that germinate, live, %', survival, setSurvival, 'survival')}
        {field(`Rows apart, ${row.symbol}`, rows, setRows, 'rows')}
      </div>
      {p === null ? <p class="quiet">Enter the plants that you want; with germination and the weight of 1000 seeds above the rate follows.</p> : w === null || w.seeds_per_m2 === null ? <p class="quiet">Germination, the share that lives{' '}and the plants are needed.</p> : (
        <dl class="farm-figures" aria-live="polite">
          <div><dt>Seeds</dt><dd data-test="seeds">{(w.seeds_per_m2 / stand.si).toFixed(stand.digits)} /{over}</dd></div>
          <div><dt>Rate</dt><dd data-test="seed-rate">{show(system, 'mass_rate', w.seed_kg_per_m2)}</dd></div>
          <div><dt>In the row</dt><dd>{w.spacing_m === null ? 'unknown' : `${(w.spacing_m / row.m).toFixed(1)} ${row.symbol} apart`}</dd></div>
        </dl>
      )}
    </section>
  )
}

/** What a planned rate puts on the ground. */
export function RateHelp({ product, rate, system }: { product: Entered | undefined; rate: string; system: System }) {
  const sent: Entered | null = product === undefined || rate.trim() === '' ? null : { ...product }
  if (sent !== null) delete sent['composition']
  const w = useWorkedOut(sent === null ? null : { product: sent, rate: rate.trim() })
  if (w === null || w.n_kg_per_m2 === null && w.cost_per_m2 === null) return null
  const area = systems[system].area
  const cost = w.cost_per_m2 === null ? null : `${(w.cost_per_m2 * area.si).toFixed(2)} ${w.currency ?? ''}/${area.symbol}`
  return (
    <p class="quiet" data-test="rate-help" aria-live="polite">
      {w.n_kg_per_m2 === null ? null : ([['N', w.n_kg_per_m2], ['P₂O₅', w.p2o5_kg_per_m2], ['K₂O', w.k2o_kg_per_m2], ['S', w.s_kg_per_m2]] as const).filter(([, v]) => v !== null && v > 0).map(([n, v]) => `${n} ${show(system, 'mass_rate', v)}`).join(', ')}
      {cost === null ? null : ` · costs ${cost}`}
    </p>
  )
}
