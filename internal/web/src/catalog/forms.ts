// What is entered of each kind of item: the members of the catalogue's file with words
// for people. Limits and rules are the daemon's alone; it names the member at fault.

import type { Kind } from './calls'

export type InputType = 'text' | 'note' | 'number' | 'whole' | 'length' | 'choice' | 'date' | 'product' | 'seed'

export interface Input {
  /** path in the item, as analysis.n_pct */
  member: string
  label: string
  type: InputType
  hint?: string
  /** value and word */
  choices?: readonly (readonly [string, string])[]
  /** suggestions for a text */
  suggest?: readonly string[]
  /** kinds of product that have it; left out: all */
  of?: readonly string[]
  /** heading above it */
  group?: string
}

export const productKinds = ['seed', 'seed treatment', 'granular', 'liquid', 'anhydrous', 'inoculant', 'crop protection', 'blend'] as const

const operations = ['seeding', 'planting', 'spraying', 'spreading', 'slurry', 'rolling'] as const
const fertiliser = ['granular', 'liquid', 'anhydrous'] as const
const protects = ['crop protection', 'seed treatment'] as const
const rides = ['seed treatment', 'inoculant'] as const
const same = (list: readonly string[]) => list.map((s) => [s, s] as const)

const name: Input = { member: 'name', label: 'Name', type: 'text' }
const note: Input = { member: 'note', label: 'Note', type: 'note' }
const analysis = (member: string, label: string): Input => ({ member: `analysis.${member}`, label, type: 'number', of: fertiliser, group: 'Analysis, per cent of the mass' })
const label = 'From the label'

export const forms: Record<Kind, readonly Input[]> = {
  fields: [name, note],
  seasons: [
    { member: 'crop', label: 'Crop', type: 'text' },
    { member: 'crop_code', label: 'EPPO code of the crop', type: 'text', hint: 'such as AVESA, where records ask for it' },
    { member: 'year', label: 'Year', type: 'whole', hint: 'or first and last day' },
    { member: 'start', label: 'First day', type: 'date' },
    { member: 'end', label: 'Last day', type: 'date', hint: 'leave empty while it lasts' },
    { member: 'target_yield', label: 'Yield aimed at', type: 'text', hint: 'with its unit, such as 6.5 t/ha' },
    note,
  ],
  plans: [
    { member: 'order', label: 'Order', type: 'whole', hint: 'the same for what goes on together' },
    { member: 'operation', label: 'Operation', type: 'text', suggest: operations },
    { member: 'product', label: 'Product', type: 'product' },
    { member: 'rate', label: 'Rate', type: 'text', hint: 'with its unit, such as 180 kg/ha' },
    { member: 'tank', label: 'Tank', type: 'whole', hint: 'leave empty for any' },
    note,
  ],
  implements: [
    name,
    { member: 'operation', label: 'Operation', type: 'text', suggest: operations },
    { member: 'mount', label: 'Mounted', type: 'choice', choices: [['towed', 'towed'], ['rigid', 'rigid, on the linkage']] },
    { member: 'antenna_to_hitch_m', label: 'Antenna to hitch', type: 'length', hint: 'hitch behind the antenna; − ahead of it' },
    { member: 'antenna_right_m', label: 'Antenna off the middle', type: 'length', hint: 'to the right; − to the left' },
    { member: 'hitch_to_axle_m', label: 'Hitch to axle', type: 'length', hint: 'to the wheels that steer it' },
    { member: 'hitch_to_bar_m', label: 'Hitch to bar', type: 'length', hint: 'where product meets the ground' },
    { member: 'bar_right_m', label: 'Bar off the middle', type: 'length', hint: 'to the right; − to the left' },
    note,
  ],
  tractors: [
    name,
    { member: 'antenna_to_hitch_m', label: 'Antenna to drawbar pin', type: 'length', hint: 'pin behind the antenna; − ahead of it' },
    { member: 'antenna_to_linkage_m', label: 'Antenna to lower links', type: 'length', hint: 'leave empty where not measured' },
    { member: 'antenna_right_m', label: 'Antenna off the middle', type: 'length', hint: 'to the right; − to the left' },
    note,
  ],
  products: [
    name,
    { member: 'kind', label: 'Kind', type: 'choice', choices: same(productKinds) },
    { member: 'thousand_kernel_g', label: 'Weight of 1000 seeds, g', type: 'number', of: ['seed'] },
    { member: 'germination_pct', label: 'Germination, %', type: 'number', of: ['seed'] },
    { member: 'rides_on', label: 'On the seed', type: 'seed', of: rides },
    { member: 'dose', label: 'Dose for each kg of seed', type: 'text', hint: 'such as 2 ml/kg or 1.5 g/kg', of: rides },
    { member: 'density_kg_per_l', label: 'Density, kg per litre', type: 'number', hint: 'without it litres have no nutrients', of: productKinds.filter((k) => k !== 'seed') },
    { member: 'price', label: 'Price', type: 'text', hint: 'such as 320 EUR/t or 95 EUR/50000 seeds' },
    { member: 'lot', label: 'Lot', type: 'text', of: productKinds.filter((k) => k !== 'blend') },
    analysis('n_pct', 'Nitrogen N'), analysis('p2o5_pct', 'Phosphate P₂O₅'), analysis('k2o_pct', 'Potash K₂O'), analysis('s_pct', 'Sulphur S'),
    { member: 'shares_by', label: 'Shares by', type: 'choice', choices: [['mass', 'mass'], ['volume', 'volume']], of: ['blend'] },
    { member: 'registration', label: 'Registration number', type: 'text', of: protects, group: label },
    { member: 'max_rate', label: 'Highest rate at once', type: 'text', hint: 'such as 1 l/ha', of: protects, group: label },
    { member: 'max_applications', label: 'Most times a season', type: 'whole', of: protects, group: label },
    { member: 'reentry_h', label: 'Hours to re-entry', type: 'number', of: protects, group: label },
    { member: 'pre_harvest_days', label: 'Days to the harvest', type: 'whole', of: protects, group: label },
    note,
  ],
  people: [
    { ...name, label: 'Name or role' },
    { member: 'licence', label: 'Licence or certificate number', type: 'text' },
    note,
  ],
}

/** words are the kinds for people. */
export const words: Record<Kind, { one: string; many: string }> = {
  fields: { one: 'field', many: 'Fields' }, seasons: { one: 'season', many: 'Seasons' }, plans: { one: 'plan', many: 'Plans' },
  implements: { one: 'implement', many: 'Implements' }, tractors: { one: 'tractor', many: 'Tractors' },
  products: { one: 'product', many: 'Products' }, people: { one: 'person', many: 'People' },
}

/** inputsOf are those that an item of a kind has; of products by the product's kind. */
export function inputsOf(kind: Kind, value: (member: string) => string): readonly Input[] {
  return forms[kind].filter((i) => {
    if (kind === 'implements' && i.member === 'hitch_to_axle_m') return value('mount') === 'towed'
    return i.of === undefined || i.of.includes(value('kind'))
  })
}

/** fresh is a new item to begin with. */
export function fresh(kind: Kind): { [member: string]: unknown } {
  switch (kind) {
    case 'products': return { kind: 'seed', shares_by: 'mass' }
    case 'implements': return { mount: 'towed', antenna_to_hitch_m: 0, antenna_right_m: 0, hitch_to_axle_m: 6, hitch_to_bar_m: 7, bar_right_m: 0, sections_m: [3, 3, 3, 3] }
    case 'tractors': return { antenna_to_hitch_m: 0, antenna_right_m: 0 }
    default: return {}
  }
}
