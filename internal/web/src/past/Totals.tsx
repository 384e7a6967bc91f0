// What recorded work adds up to, and from there down to the sessions.

import { useState } from 'preact/hooks'
import { Fault } from '../panel/common'
import { show, type System } from '../units'
import { past, type By, type Filter, type Group } from './calls'
import { Choice, useAsked, useShown } from './parts'
import { amount, fieldCapacity, hours, percent, rate } from './words'

const bys: readonly (readonly [By, string])[] = [['field', 'Field'], ['crop', 'Crop'], ['product', 'Product'], ['person', 'Person'], ['season', 'Season'], ['operation', 'Operation'], ['session', 'Session']]

export function TotalsView({ filter, onPick }: { filter: Filter; onPick: (by: By, key: string) => void }) {
  const { units } = useShown()
  const [by, setBy] = useState<By>('field')
  const totals = useAsked(`${by} ${JSON.stringify(filter)}`, () => past.totals(by, filter))
  const t = totals.value
  return (
    <div data-test="totals">
      <Choice label="Add up by" of={bys} value={by} onChange={setBy} test="by" />
      <Fault text={totals.error} />
      {t === null ? null : (
        <div class="wide-table">
          <table>
            <thead><tr><th scope="col">{bys.find(([b]) => b === t.by)?.[1]}</th><th scope="col">Area</th><th scope="col">Amounts</th><th scope="col">Time</th><th scope="col">Nutrients</th><th scope="col">Cost</th></tr></thead>
            <tbody>
              {t.groups.map((g) => (
                <tr key={g.key} data-test="total">
                  <th scope="row"><button type="button" class="button plain" data-test="total-open" onClick={() => onPick(t.by, g.key)}>{g.key === '' ? 'Not stated' : g.key}</button><span class="note">{g.operations} {g.operations === 1 ? 'operation' : 'operations'}, {g.sessions} {g.sessions === 1 ? 'session' : 'sessions'}</span></th>
                  <Cells g={g} units={units} />
                </tr>
              ))}
            </tbody>
            <tfoot><tr data-test="total-all"><th scope="row">All</th><Cells g={t.all} units={units} /></tr></tfoot>
          </table>
        </div>
      )}
      {t !== null && t.total > t.groups.length ? <p class="quiet">{t.total - t.groups.length} more are not shown.</p> : null}
      {t === null ? null : <Unknown g={t.all} />}
    </div>
  )
}

function Cells({ g, units }: { g: Group; units: System }) {
  const n = g.nutrients
  const nutrient = (name: string, kg: number, per: number | null) => (kg === 0 ? null : <div key={name}>{name} {per === null ? `${kg.toFixed(0)} kg` : show(units, 'mass_rate', per)}</div>)
  return (
    <>
      <td>{show(units, 'area', g.covered_m2)}<div class="note">{g.gross_m2 > 0 ? `${percent(g.overlap_m2 / g.gross_m2, 1)} overlap` : ''}</div></td>
      <td>{g.products.map((p) => <div key={`${p.name} ${p.unit}`}>{p.name === '' ? 'not stated' : p.name}: {amount(units, p.unit, p.applied)}<span class="note"> {rate(units, p.unit, p.mean_rate_per_m2)}</span></div>)}</td>
      <td>{hours(g.working_s)}<div class="note">{g.capacity_m2_per_s === null ? '' : `${Object.values(fieldCapacity(units, g.capacity_m2_per_s)).join(' ')}`}{g.efficiency === null ? '' : `, ${percent(g.efficiency)}`}</div></td>
      <td>{nutrient('N', n.n_kg, n.n_kg_per_m2)}{nutrient('P2O5', n.p2o5_kg, n.p2o5_kg_per_m2)}{nutrient('K2O', n.k2o_kg, n.k2o_kg_per_m2)}{nutrient('S', n.s_kg, n.s_kg_per_m2)}</td>
      <td>{g.costs.map((c) => <div key={c.currency}>{c.amount.toFixed(2)} {c.currency}</div>)}</td>
    </>
  )
}

/** Unknown says what is missing in the sums, so that they are not taken for the whole. */
function Unknown({ g }: { g: Group }) {
  const u = g.unknown
  const of = [
    u.amounts > 0 ? `${u.amounts} uses of a product without a known amount` : '', u.nutrients > 0 ? `${u.nutrients} amounts without known nutrients` : '', u.costs > 0 ? `${u.costs} amounts without a price` : '',
    u.fields > 0 ? `${u.fields} operations in no named field` : '', u.people > 0 ? `${u.people} operations with nobody named` : '',
  ].filter((t) => t !== '')
  return of.length === 0 ? null : <p class="note" data-test="unknown">Not in these sums: {of.join('; ')}.</p>
}
