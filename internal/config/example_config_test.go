package config_test

// exampleConfig is the documented example configuration, its comments included.
const exampleConfig = `units: metric                # metric | us | canadian: how numbers are shown
timezone: Europe/London       # how times are shown
gnss:
  source: /dev/serial/by-id/usb-example-if00   # or tcp://host:port, udp://:port
  baud: 38400                # 0 = find out
  latency_s: 0.0             # from the epoch to the arrival of its first sentence
  min_quality: any           # any | dgps | float | rtk: below it nothing is painted, all is recorded
controller:
  source: /dev/ttyUSB1
  baud: 9600
  stale_after_s: 2.0         # no report for this long while moving: state unknown, nothing painted, alarm
  report_lag_s: 0.0          # the report describes the meter this long before it arrived
  line:
    kind: keyvalue           # or:
    # kind: delimited
    # separator: ","         # one character, or "space"
    # header: false          # true: the first line names the columns
    # checksum: none         # none | xor8 | sum8 | crc16-ccitt, after a * at the end of the line
    # columns:
    #   - {column: 3, field: sections, format: hex, first: left}   # format: bits | hex | decimal; first: left | right
    #   - {column: 4, field: rate, tank: 1, unit: gal/ac, scale: 0.1, offset: 0}
    # field is one of work, sections, speed, rate, target, flow, total, level; column is a number from 1 or a header name
    # kind: pattern
    # pattern: '^R(?P<id>\d+),(?P<rate>[\d.]+)$'
    # columns: [{column: rate, field: rate, tank: 1, unit: kg/ha}]   # tank_from: id  where a group or column gives the tank's number
implement:
  name: 12 m drill
  operation: seeding
  antenna_to_hitch_m: 1.8    # hitch point behind the antenna (negative: ahead of it)
  antenna_right_m: 0.0       # antenna right of the centre line
  mount: towed               # rigid | towed
  hitch_to_axle_m: 6.0       # towed only: hitch to the wheels that steer it
  hitch_to_bar_m: 7.2        # hitch to the bar, along the implement
  bar_right_m: 0.0           # centre of the bar right of the implement's centre line
  sections_m: [3, 3, 3, 3]   # widths, left to right
tanks:
  - tank: 1
    product: {name: Spring oats, kind: seed, thousand_kernel_g: 38}
    target: 112 kg/ha
    capacity: 3800 kg
    lag_s: 4.0               # from the meter to the ground, starts and stops alike
field: {name: Mill Piece, boundary: mill-piece.geojson}   # boundary optional
limits:
  skip_width_m: 0            # 0 = the smaller of half the bar and max(1 m, 1.4 x the widest section)
  skip_min_area_m2: 0        # 0 = max(1 m2, skip_width squared / 12)
  max_gap_s: 2.0             # longest hole between fixes that a swath may bridge
  max_speed_mps: 15          # two fixes that imply more than this: a jump, nothing painted across it
server:
  listen: 127.0.0.1:8080
data: ./data
`

const millPiece = `{"type":"Polygon","coordinates":[[[0.1,53.4],[0.104,53.4],[0.104,53.402],[0.1,53.402],[0.1,53.4]]]}`
