// Tiles are fetched with patience that ends: a request that is lost when the network
// goes silent would else keep its tile, and one of the few connections, for minutes.

export const tileScheme = 'tile'

const patience = 8_000 // ms

const waiting = new Set<AbortController>()

/** giveUp gives up all requests that wait: the connection was lost, and they with it. They are asked for anew. */
export function giveUp(): void {
  for (const request of waiting) request.abort()
}

/** loadTile fetches tile://path?query from the page's own origin; an empty tile has no bytes. */
export async function loadTile({ url }: { url: string }, outer: AbortController): Promise<{ data: ArrayBuffer }> {
  const own = new AbortController()
  waiting.add(own)
  const give = setTimeout(() => own.abort(), patience)
  const follow = () => own.abort()
  outer.signal.addEventListener('abort', follow)
  try {
    const response = await fetch(`/${url.slice(`${tileScheme}://`.length)}`, { signal: own.signal })
    if (!response.ok) throw new Error(`tile ${response.status}`)
    return { data: await response.arrayBuffer() }
  } catch (e) {
    // the map takes an abort for its own, and would wait for ever
    if (!outer.signal.aborted && own.signal.aborted) throw new Error('no answer in time')
    throw e
  } finally {
    clearTimeout(give)
    waiting.delete(own)
    outer.signal.removeEventListener('abort', follow)
  }
}
