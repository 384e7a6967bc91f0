/** What a test gives: something to do when it is over. */
export interface Context { after: (f: () => unknown) => void }

export interface Daemon {
  origin: string
  port: number
  pid: number
  stop: (signal?: string) => Promise<void>
  output: () => string
  get: (path: string) => Promise<unknown>
  post: (path: string, body: unknown) => Promise<unknown>
  remove: (path: string) => Promise<unknown>
}

export const binary: string
export function session(name: string): string
export function folder(t: Context): string
export function drawbar(...args: string[]): Promise<string>
export function start(t: Context, args: string[]): Promise<Daemon>
export function demo(t: Context, speed: number, ...more: string[]): Promise<Daemon>
export function pause(ms: number): Promise<void>
export function until<T>(what: () => Promise<T> | T, name: string, ms?: number): Promise<Exclude<T, null | undefined | false>>
