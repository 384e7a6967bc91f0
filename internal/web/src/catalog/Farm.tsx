// The farm: fields with seasons and plans, products, machines, people.

import { useEffect, useState } from 'preact/hooks'
import { Act, Fault, Sheet, useModel, ViewerWord } from '../panel/common'
import { show } from '../units'
import { catalog, type Entered, type Item, type Kind } from './calls'
import './catalog.css'
import { Editor } from './Editor'
import { fresh, words } from './forms'
import { Whole } from './Whole'

const tabs: readonly (Kind | 'whole')[] = ['fields', 'products', 'implements', 'tractors', 'people', 'whole']
const most = 60 // items shown at once; the rest is found by searching

/** An item that is open, and those that it belongs to. */
interface Open { kind: Kind; item: Entered }

export function FarmSheet({ onClose }: { onClose: () => void }) {
  const [tab, setTab] = useState<Kind | 'whole'>('fields')
  const [open, setOpen] = useState<Open[]>([])
  const [products, setProducts] = useState<readonly Item[]>([])
  useEffect(() => { void catalog.list('products', { archived: true }).then((a) => { if (a.ok) setProducts(a.value) }) }, [open.length, tab])
  const top = open[open.length - 1]
  const push = (kind: Kind, item: Entered) => setOpen((list) => [...list, { kind, item }])
  const pop = () => setOpen((list) => list.slice(0, -1))
  return (
    <Sheet title="Farm" test="farm-sheet" onClose={onClose}>
      {top === undefined ? (
        <>
          <nav class="farm-tabs" aria-label="Of the farm">
            {tabs.map((t) => <button key={t} type="button" class="button plain" aria-pressed={tab === t} data-test={`tab-${t}`} onClick={() => setTab(t)}>{t === 'whole' ? 'In and out' : words[t].many}</button>)}
          </nav>
          <ViewerWord />
          {tab === 'whole' ? <Whole /> : <List key={tab} kind={tab} onOpen={(item) => push(tab, item)} />}
        </>
      ) : (
        <>
          <h3 class="farm-path" data-test="farm-path">{open.map((o) => titleOf(o.kind, o.item, products)).join(' › ')}</h3>
          <ViewerWord />
          <Editor
            key={open.length} kind={top.kind} start={top.item} products={products} onDone={pop}
            onSaved={(item) => {
              setOpen((list) => [...list.slice(0, -1), { kind: top.kind, item }])
              if (top.kind === 'plans') pop()
            }}
            below={top.kind === 'fields' ? (f) => <Below kind="seasons" of={f} products={products} onOpen={(i) => push('seasons', i)} /> : top.kind === 'seasons' ? (s) => <Below kind="plans" of={s} products={products} onOpen={(i) => push('plans', i)} /> : undefined}
          />
        </>
      )}
    </Sheet>
  )
}

function titleOf(kind: Kind, item: Entered, products: readonly Item[]): string {
  const s = (m: string) => (item[m] === undefined ? '' : String(item[m]))
  switch (kind) {
    case 'seasons': return s('crop') === '' ? 'New season' : `${s('crop')} ${s('year') !== '' ? s('year') : [s('start'), s('end')].filter((d) => d !== '').join(' – ')}`
    case 'plans': return s('product') === '' ? 'New plan' : `${s('operation')}, ${nameOf(products, s('product'))}`
    default: return s('name') === '' ? `New ${words[kind].one}` : s('name')
  }
}

const nameOf = (products: readonly Item[], id: string) => String(products.find((p) => p.id === id)?.['name'] ?? 'unknown product')

/** What a list says of an item beside its name. */
function About({ kind, item }: { kind: Kind; item: Item }) {
  const { state } = useModel()
  const system = state?.units ?? 'metric'
  const s = (m: string) => (item[m] === undefined ? '' : String(item[m]))
  switch (kind) {
    case 'fields': return <>{item['area_m2'] === null ? 'no boundary yet' : show(system, 'area', item['area_m2'] as number)}</>
    case 'products': {
      const c = item['composition'] as { n_pct: number | null; p2o5_pct: number | null; k2o_pct: number | null; s_pct: number | null } | undefined
      const grade = c === undefined || c.n_pct === null || item['kind'] === 'seed' ? '' : ([['N', c.n_pct], ['P₂O₅', c.p2o5_pct], ['K₂O', c.k2o_pct], ['S', c.s_pct]] as const).filter(([, v]) => (v ?? 0) > 0).map(([n, v]) => `${n} ${Number((v ?? 0).toFixed(1))}`).join(' ')
      return <>{[s('kind'), grade, s('lot') === '' ? '' : `lot ${s('lot')}`].filter((t) => t !== '').join(' · ')}</>
    }
    case 'implements': {
      const widths = (item['sections_m'] as number[] | undefined) ?? []
      return <>{[s('operation'), show(system, 'length', widths.reduce((a, b) => a + b, 0)), `${widths.length} sections`].filter((t) => t !== '').join(' · ')}</>
    }
    case 'people': return <>{s('licence') === '' ? '' : `licence ${s('licence')}`}</>
    default: return null
  }
}

function List({ kind, onOpen }: { kind: Kind; onOpen: (item: Entered) => void }) {
  const [items, setItems] = useState<readonly Item[] | null>(null)
  const [archived, setArchived] = useState(false)
  const [search, setSearch] = useState('')
  const [error, setError] = useState<string | null>(null)
  useEffect(() => {
    let late = false
    void catalog.list(kind, { archived }).then((a) => { if (!late) { if (a.ok) { setItems(a.value); setError(null) } else setError(a.error) } })
    return () => { late = true }
  }, [kind, archived])
  const wanted = search.trim().toLowerCase()
  const found = (items ?? []).filter((i) => wanted === '' || [i['name'], i['kind'], i['operation'], i['note'], i['lot']].some((v) => typeof v === 'string' && v.toLowerCase().includes(wanted)))
  // lists are brief: an outline comes with the item alone
  const openOne = (item: Item) => { void catalog.get(kind, item.id).then((a) => { if (a.ok) onOpen(a.value); else setError(a.error) }) }
  return (
    <section data-test={`list-${kind}`}>
      <div class="row farm-find">
        <Act test="add" kind="primary" always onClick={() => onOpen(fresh(kind))}>Add a {words[kind].one}</Act>
        <label class="field farm-field">Find<input type="search" value={search} data-test="find" onInput={(e) => setSearch(e.currentTarget.value)} /></label>
        <label class="check"><input type="checkbox" checked={archived} data-test="with-archived" onChange={(e) => setArchived(e.currentTarget.checked)} />archived too</label>
      </div>
      <Fault text={error} />
      {items !== null && items.length === 0 ? <p class="quiet">None yet.</p> : null}
      {items !== null && items.length > 0 && found.length === 0 ? <p class="quiet">Nothing of that name.</p> : null}
      <ul class="farm-list">
        {found.slice(0, most).map((i) => (
          <li key={i.id}>
            <button type="button" class="button plain farm-item" data-test="item" onClick={() => openOne(i)}>
              <span>{String(i['name'])}{i.archived ? <span class="badge">archived</span> : null}</span>
              <span class="quiet"><About kind={kind} item={i} /></span>
            </button>
          </li>
        ))}
      </ul>
      {found.length > most ? <p class="quiet">And {found.length - most} more: find them by name.</p> : null}
    </section>
  )
}

/** The seasons of a field, or the plans of a season in their order. */
function Below({ kind, of, products, onOpen }: { kind: 'seasons' | 'plans'; of: Item; products: readonly Item[]; onOpen: (item: Entered) => void }) {
  const [items, setItems] = useState<readonly Item[]>([])
  const [error, setError] = useState<string | null>(null)
  useEffect(() => {
    let late = false
    void catalog.list(kind, { of: of.id }).then((a) => { if (!late) { if (a.ok) setItems(a.value); else setError(a.error) } })
    return () => { late = true }
  }, [kind, of.id, of.revision])
  const next = items.reduce((n, i) => Math.max(n, Number(i['order'] ?? 0)), 0) + 1
  const add = () => onOpen(kind === 'seasons' ? { field: of.id, year: new Date().getFullYear() } : { season: of.id, order: next })
  return (
    <section data-test={`below-${kind}`}>
      <h3>{kind === 'seasons' ? 'Seasons' : 'Planned, in order'}</h3>
      <ol class="farm-list">
        {items.map((i) => (
          <li key={i.id}>
            <button type="button" class="button plain farm-item" data-test={kind === 'seasons' ? 'season' : 'plan'} onClick={() => onOpen(i)}>
              {kind === 'seasons' ? <span>{titleOf('seasons', i, products)}</span> : <span>{String(i['order'])}. {titleOf('plans', i, products)}</span>}
              <span class="quiet">{kind === 'seasons' ? String(i['target_yield'] ?? '') : `${String(i['rate'])}${i['tank'] === undefined ? '' : ` · tank ${String(i['tank'])}`}`}</span>
            </button>
          </li>
        ))}
      </ol>
      {items.length === 0 ? <p class="quiet">{kind === 'seasons' ? 'No crop is stated for this field yet.' : 'Nothing is planned yet.'}</p> : null}
      <Fault text={error} />
      <Act test={kind === 'seasons' ? 'add-season' : 'add-plan'} always onClick={add}>{kind === 'seasons' ? 'Add a season' : 'Add to the plan'}</Act>
    </section>
  )
}
