// The colours of the screen by day and by night, as design tokens. Everything that
// is drawn takes its colours from here; look.test.ts holds them to the contrast that
// WCAG 2.2 asks for.

export type Look = 'day' | 'night'

/** Tokens of one look, #rrggbb each. */
export interface Tokens {
  /** behind the panel */
  page: string
  /** of a card, a sheet and a plain button */
  surface: string
  text: string
  /** of labels */
  quiet: string
  /** of frames that must be seen */
  frame: string
  /** of the one thing to touch */
  action: string
  onAction: string
  good: string
  onGood: string
  warning: string
  onWarning: string
  critical: string
  onCritical: string
  /** of what is not fresh */
  old: string
  onOld: string
  oldHatch: string
  focus: string
  /** ground that was not worked */
  bare: string
  /** ground covered once */
  covered: string
  /** ground covered more than once, under the hatch of its cause */
  twice: string
  skip: string
  skipLabel: string
  onSkipLabel: string
  boundary: string
  /** swaths of which the rate is not known */
  unknown: string
  machine: string
  machineEdge: string
  sectionOn: string
  sectionEdge: string
  preview: string
}

export const looks: Record<Look, Tokens> = {
  day: {
    page: '#e9e6df', surface: '#ffffff', text: '#11181c', quiet: '#465057', frame: '#6a747b',
    action: '#0a4a68', onAction: '#ffffff', good: '#17603a', onGood: '#ffffff',
    warning: '#ffcf5c', onWarning: '#11181c', critical: '#a8151b', onCritical: '#ffffff',
    old: '#d5d5d2', onOld: '#3a4146', oldHatch: '#c3c3bf', focus: '#a3420a',
    bare: '#f1ecdf', covered: '#4c8f6c', twice: '#2c5f48',
    skip: '#b01116', skipLabel: '#b01116', onSkipLabel: '#ffffff', boundary: '#11181c', unknown: '#7d4fa0',
    machine: '#11181c', machineEdge: '#ffffff', sectionOn: '#0b57d0', sectionEdge: '#11181c', preview: '#a3420a',
  },
  night: {
    page: '#0c1012', surface: '#161d21', text: '#e6ecef', quiet: '#a6b2b8', frame: '#77848b',
    action: '#86c9e6', onAction: '#07151c', good: '#7fd0a0', onGood: '#07170e',
    warning: '#e3aa32', onWarning: '#14110a', critical: '#c4262c', onCritical: '#ffffff',
    old: '#2c3337', onOld: '#b9c2c7', oldHatch: '#3a4247', focus: '#ffb27a',
    bare: '#1b2124', covered: '#418b66', twice: '#a9dcc0',
    skip: '#ff8d86', skipLabel: '#ff8d86', onSkipLabel: '#1d0606', boundary: '#e6ecef', unknown: '#b58fd6',
    machine: '#e6ecef', machineEdge: '#0c1012', sectionOn: '#8ab4ff', sectionEdge: '#e6ecef', preview: '#ffb27a',
  },
}

/** rgb reads #rrggbb, each part 0 to 1. */
export function rgb(hex: string): [number, number, number] {
  const n = Number.parseInt(hex.slice(1), 16)
  return [((n >> 16) & 255) / 255, ((n >> 8) & 255) / 255, (n & 255) / 255]
}

/**
 * contrast is the contrast ratio of two colours, 1 to 21, as WCAG 2.2 defines it
 * ("contrast ratio" and "relative luminance").
 */
export function contrast(a: string, b: string): number {
  const luminance = (hex: string): number => {
    const [r, g, bl] = rgb(hex).map((v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4)) as [number, number, number]
    return 0.2126 * r + 0.7152 * g + 0.0722 * bl
  }
  const [x, y] = [luminance(a), luminance(b)]
  return (Math.max(x, y) + 0.05) / (Math.min(x, y) + 0.05)
}

/** wear puts the tokens of a look on the page, as custom properties --page, --surface … */
export function wear(look: Look, root: HTMLElement): void {
  for (const [name, value] of Object.entries(looks[look])) {
    root.style.setProperty(`--${name.replace(/[A-Z]/g, (c) => `-${c.toLowerCase()}`)}`, String(value))
  }
  root.style.setProperty('color-scheme', look === 'day' ? 'light' : 'dark')
  root.dataset['look'] = look
}
