package main

// catalogExample is a file for import as a person writes it, with every key there
// is.
const catalogExample = `schema: drawbar.catalog.1
fields:
- name: Mill Piece
  note: wet in the north corner
  boundary: {type: Polygon, coordinates: [[[-0.003, 53.350], [0.003, 53.350], [0.003, 53.354], [-0.003, 53.350]]]}
  seasons:
  - crop: Spring oats
    crop_code: AVESA            # of EPPO, where records ask for it
    year: 2026                  # or start: "2026-03-01" and end: "2026-08-31"
    target_yield: 6.5 t/ha
    note: second year of oats
    plans:
    - order: 1                  # what goes on together has the same
      operation: seeding
      product: Firth oats
      rate: 180 kg/ha
      tank: 1                   # leave out for any
      note: into moisture
implements:                     # as in the configuration
- name: 12 m drill
  operation: seeding
  antenna_to_hitch_m: 1.8
  antenna_right_m: 0
  mount: towed
  hitch_to_axle_m: 6
  hitch_to_bar_m: 7.2
  bar_right_m: 0
  sections_m: [3, 3, 3, 3]
tractors:
- name: Big tractor
  antenna_right_m: 0
  antenna_to_hitch_m: 1.8       # to the drawbar's pin
  antenna_to_linkage_m: 1.2     # to the ends of the lower links
products:
- name: Firth oats
  kind: seed
  price: 480 EUR/t              # or 95 EUR/50000 seeds, 1.35 GBP/l
  thousand_kernel_g: 38
  germination_pct: 95
  lot: A 17
- name: Oat coat
  kind: seed treatment          # or inoculant
  rides_on: Firth oats
  dose: 2 ml/kg                 # of the seed; or g/kg
- name: Urea 46
  kind: granular                # or liquid, anhydrous
  analysis: {n_pct: 46, p2o5_pct: 0, k2o_pct: 0, s_pct: 0}
- name: Solution 28
  kind: liquid
  density_kg_per_l: 1.28        # without it litres have no nutrients
  analysis: {n_pct: 28}
- name: Rust guard
  kind: crop protection         # the limits as on its label, which alone counts
  registration: KH 00417
  substances:
  - {name: examplazole, content: 250 g/l}   # or g/kg, %
  max_rate: 1 l/ha
  max_applications: 2           # a season
  reentry_h: 24
  pre_harvest_days: 35
- name: Top up
  kind: blend
  shares_by: mass               # or volume
  parts:
  - {product: Urea 46, share: 3}
  - {product: Solution 28, share: 1}
people:
- name: Driver
  licence: "004711"
  archived: true                # no longer offered
marks:
- kind: stone                   # archived ones were withdrawn
  note: big, by the oak
  field: Mill Piece             # or field_name: of one that is not above
  at: [0.0005, 53.3512]         # longitude, latitude
  left: "2026-05-14T13:05:10Z"
  origin: 000017-20260514T130510Z#3   # that mark of that recording
  done: true
  settled: "2026-05-20T12:00:00Z"     # when it was last said to be done or open
  settled_by: Driver
`
