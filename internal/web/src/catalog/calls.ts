// What is asked of the catalogue and said to it.

import { call, type Answer } from '../api'
import { placed } from '../base'
import type { components } from '../api.gen'
import type { Fault } from '../wire'

type Schemas = components['schemas']

/** The kinds of items, as in the addresses. */
export type Kind = 'fields' | 'seasons' | 'plans' | 'implements' | 'tractors' | 'products' | 'people'

/** What every item has, with all else by its member: forms go by names. */
export type Item = { id: string; revision: number; archived: boolean } & { [member: string]: unknown }

/** An item that is being entered; one that is new has no id. */
export type Entered = { id?: string; revision?: number; archived?: boolean } & { [member: string]: unknown }

export type WorkedOut = Schemas['WorkedOut']
export type Imported = Schemas['Imported']

const at = (kind: Kind, id?: string) => `/api/catalog/${kind}${id === undefined ? '' : `/${encodeURIComponent(id)}`}`

/** Outcome of a change: saved, refused with faults, or another was faster. */
export type Outcome = { was: 'saved'; item: Item } | { was: 'conflict'; current: Item } | { was: 'refused'; error: string; faults: Fault[] }

const outcome = (a: Answer<Item>): Outcome => {
  if (a.ok) return { was: 'saved', item: a.value }
  const current = (a.body as { current?: Item } | null | undefined)?.current
  if (a.status === 409 && current !== undefined) return { was: 'conflict', current }
  return { was: 'refused', error: a.error, faults: a.faults }
}

export const catalog = {
  list: async (kind: Kind, q: { archived?: boolean; of?: string } = {}): Promise<Answer<Item[]>> => {
    const query = new URLSearchParams()
    if (q.archived === true) query.set('archived', '1')
    if (q.of !== undefined) query.set('of', q.of)
    const a = await call<{ items: Item[] }>('GET', `${at(kind)}${query.size === 0 ? '' : `?${query}`}`)
    return a.ok ? { ok: true, value: a.value.items } : a
  },
  get: (kind: Kind, id: string) => call<Item>('GET', at(kind, id)),
  /** save adds an item without an id, and changes one with. */
  save: async (kind: Kind, item: Entered): Promise<Outcome> =>
    outcome(item.id === undefined ? await call<Item>('POST', at(kind), item) : await call<Item>('PUT', at(kind, item.id), item)),
  archive: async (kind: Kind, item: Item, archived: boolean): Promise<Outcome> =>
    outcome(await call<Item>('POST', `${at(kind, item.id)}/archive`, { revision: item.revision, archived })),
  remove: (kind: Kind, item: Item) => call<{ became: 'deleted' | 'archived' }>('DELETE', `${at(kind, item.id)}?revision=${item.revision}`),
  workOut: (what: { product: Entered; rate?: string; plants_per_m2?: number; survival_pct?: number; row_spacing_m?: number }) => call<WorkedOut>('POST', '/api/catalog/work-out', what),
  exportAt: (format: 'yaml' | 'json') => placed(`/api/catalog/export?format=${format}`),
  /** take reads a whole catalogue into this one. */
  take: async (text: string, replace: boolean): Promise<Answer<Imported>> => {
    let response: Response
    try {
      const json = text.trimStart().startsWith('{')
      response = await fetch(placed(`/api/catalog/import${replace ? '?replace=1' : ''}`), { method: 'POST', cache: 'no-store', body: text, headers: { 'Content-Type': json ? 'application/json' : 'application/yaml' } })
    } catch {
      return { ok: false, status: 0, error: 'There is no connection to the recorder. Nothing was changed; try again when it is back.', faults: [] }
    }
    const body = (await response.json().catch(() => null)) as unknown
    if (response.ok) return { ok: true, value: body as Imported }
    const { error, faults } = (body ?? {}) as { error?: string; faults?: Fault[] }
    return { ok: false, status: response.status, error: error ?? `The recorder answered with ${response.status}.`, faults: faults ?? [] }
  },
}
