// Where the page stands: at the root it shows the work now, under /past/SESSION a
// recorded session that the daemon shows beside it.

/** baseOf is the path in front of all that is shown, '' for the work now. */
export const baseOf = (pathname: string): string => /^\/past\/[^/]+(?=\/)/.exec(pathname)?.[0] ?? ''

/** base is that of this page. */
export const base = typeof location === 'undefined' ? '' : baseOf(location.pathname)

/** What belongs to the farm and the board, and so is the same on every page. */
const common = /^\/api\/(access|catalog|work|totals|progress|previews|joins|sessions)(\/|\?|$)/

/**
 * placed is the address of a path on this page. What is not known to be common stays
 * with the session shown, so that nothing that is said to it can reach the work now.
 */
export const placed = (path: string, at: string = base): string => (common.test(path) ? path : at + path)
