// What the document of the API promises, held against what the daemon answers: the
// status, the kind of content, and the body member by member.

import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { Ajv2020, type ValidateFunction } from 'ajv/dist/2020.js'
import formats from 'ajv-formats'
import createClient, { type Client, type Middleware } from 'openapi-fetch'
import type { paths } from '../src/api.gen'

type Content = Record<string, { schema?: object }>
interface Operation {
  operationId: string
  requestBody?: { content: Content }
  responses: Record<string, { content?: Content }>
}
interface Document { openapi: string; paths: Record<string, Record<string, Operation>> }

/** kept is the document that the page's types are made from. */
export const kept = readFileSync(join(import.meta.dirname, '../../server/testdata/openapi.json'), 'utf8')

export type Api = Client<paths>

/** Deed is what was done to one operation of the document. */
interface Deed { writes: boolean; answered: number; refused: number }

const pointer = (...parts: string[]) => parts.map((p) => `/${encodeURIComponent(p.replaceAll('~', '~0').replaceAll('/', '~1'))}`).join('')

/** Witness sees every request of its clients; faults is what was not as promised. */
export class Witness {
  readonly faults: string[] = []
  readonly deeds = new Map<string, Deed>()
  private readonly document = JSON.parse(kept) as Document
  private readonly ajv = new Ajv2020({ strict: false, allErrors: true })
  private readonly compiled = new Map<string, ValidateFunction>()

  constructor() {
    formats.default(this.ajv)
    this.ajv.addSchema(this.document, 'drawbar')
    for (const path of Object.values(this.document.paths)) {
      for (const [method, { operationId }] of Object.entries(path)) {
        if (this.deeds.has(operationId)) this.faults.push(`two operations are called ${operationId}`)
        this.deeds.set(operationId, { writes: method !== 'get', answered: 0, refused: 0 })
      }
    }
  }

  /** client talks to a daemon under this witness's eyes; headers go with every request. */
  client(origin: string, headers: Record<string, string> = {}): Api {
    const client = createClient<paths>({ baseUrl: origin, headers })
    const sent = new WeakMap<Request, unknown>()
    const eye: Middleware = {
      onRequest: async ({ request }) => {
        if (request.body !== null && (request.headers.get('Content-Type') ?? '').startsWith('application/json')) {
          sent.set(request, await request.clone().json().catch(() => undefined))
        }
        return undefined
      },
      onResponse: async ({ request, response, schemaPath }) => {
        await this.see(request.method.toLowerCase(), schemaPath, sent.get(request), response)
        return undefined
      },
    }
    client.use(eye)
    return client
  }

  /** matches holds a value against a schema of the document, by its name. */
  matches(name: string, value: unknown, what: string) {
    this.hold(pointer('components', 'schemas', name), value, what)
  }

  private hold(at: string, value: unknown, what: string) {
    let check = this.compiled.get(at)
    if (check === undefined) {
      check = this.ajv.compile({ $ref: `drawbar#${at}` })
      this.compiled.set(at, check)
    }
    if (check(value)) return
    for (const e of check.errors ?? []) this.faults.push(`${what}: ${e.instancePath || 'the whole'} ${e.message ?? ''} ${JSON.stringify(e.params)}`)
  }

  private async see(method: string, path: string, sent: unknown, response: Response) {
    const what = `${method.toUpperCase()} ${path} → ${response.status}`
    const operation = this.document.paths[path]?.[method]
    if (operation === undefined) {
      this.faults.push(`${what}: the document has no such operation`)
      return
    }
    const deed = this.deeds.get(operation.operationId)
    if (deed === undefined) return
    const described = operation.responses[String(response.status)]
    if (described === undefined) {
      this.faults.push(`${what}: no such status is described`)
      return
    }
    const at = pointer('paths', path, method)
    if (response.ok) {
      deed.answered++
      if (sent !== undefined && operation.requestBody?.content['application/json'] !== undefined) {
        this.hold(`${at}${pointer('requestBody', 'content', 'application/json', 'schema')}`, sent, `${what}, as sent`)
      }
    } else if (response.status < 500) {
      deed.refused++
    }
    const kinds = Object.keys(described.content ?? {})
    const kind = (response.headers.get('Content-Type') ?? '').split(';')[0] ?? ''
    if (kinds.length === 0 ? response.status !== 204 && response.status !== 304 && kind !== '' : !kinds.includes(kind)) {
      this.faults.push(`${what}: comes as ${kind || 'nothing'}, described is ${kinds.join(', ') || 'nothing'}`)
      return
    }
    const schema = described.content?.[kind]?.schema as { type?: string } | undefined
    if (kind === 'application/json' || (kind.endsWith('+json') && schema?.type === 'object')) {
      const read: unknown = await response.clone().json().catch((e: unknown) => { this.faults.push(`${what}: no JSON: ${String(e)}`) })
      this.hold(`${at}${pointer('responses', String(response.status), 'content', kind, 'schema')}`, read, what)
    }
  }

  /** left lists what nobody did: an operation that was never answered well, a writing one that never refused. */
  left(): string[] {
    return [...this.deeds].flatMap(([id, d]) => [
      ...(d.answered === 0 ? [`${id}: no good request was made`] : []),
      ...(d.writes && d.refused === 0 ? [`${id}: no bad request was made`] : []),
    ])
  }
}

/** A call of the client as openapi-fetch answers it. */
interface Told<T> { data?: T; error?: unknown; response: Response }

/** answered is what a good request gave; it fails where that was refused. */
export function answered<T>({ data, error, response }: Told<T>): NonNullable<T> {
  if (!response.ok) throw new Error(`${response.url}: ${response.status} ${JSON.stringify(error)}`)
  if (data === undefined || data === null) throw new Error(`${response.url}: ${response.status} without a body`)
  return data
}

/**
 * refused is for a bad request: the daemon must say so with a status of 4xx, and name
 * the member that is at fault where one is given, else say in words what to do.
 */
export function refused({ error, response }: Told<unknown>, status: number, member?: string) {
  const { error: text = '', faults = [] } = (error ?? {}) as { error?: string; faults?: { member: string; want: string }[] }
  const told = `${response.url}: ${response.status} ${JSON.stringify(error)}`
  if (response.status !== status) throw new Error(`a bad request should give ${status}: ${told}`)
  if (text.length < 12) throw new Error(`a refusal should say what is wrong: ${told}`)
  if (member !== undefined && !faults.some((f) => f.member === member && f.want !== '')) throw new Error(`a fault should name ${member} and what was expected: ${told}`)
}

/** bad lets a value through that the types would not. */
export const bad = (value: unknown) => value as never
