package config_test

import (
	"errors"
	"strings"
	"testing"

	"drawbar/internal/config"
)

// Every fault that a file can have, with its exact place. What is right beside
// it must not be reported.
func TestFaults(t *testing.T) {
	t.Parallel()
	const (
		tank = "tanks:\n  - tank: 1\n    "
		seed = "product: {name: Oats, kind: seed}\n    "
		line = "controller:\n  line:\n    "
	)
	boundary := func(name string) string { return "field: {name: Mill Piece, boundary: " + name + "}\n" }
	for _, c := range []struct{ name, text, want string }{
		// The file as a whole.
		{"a text", "drawbar", "c.yaml:1:1: got the text \"drawbar\", want keys with values: units, timezone, gnss, controller, implement, tanks, field, fields, limits, server, data"},
		{"a list", "- units: us\n", "c.yaml:1:1: got a list, want keys with values: units, timezone, gnss, controller, implement, tanks, field, fields, limits, server, data"},
		{"broken YAML", "units: metric\nfield: {name: Mill Piece\ndata: x\n", "c.yaml:3:1: got text that is no YAML (',' or '}' must be specified), want YAML such as units: metric"},
		{"a tab", "gnss:\n\tbaud: 9600\n", "c.yaml:2:1: got text that is no YAML (found character ' ' that cannot start any token), want spaces, not tabs, before a key"},
		{"two documents", "units: us\n---\nunits: metric\n", "c.yaml:3:1: got a second document, want one document in the file"},
		{"a directive", "%YAML 1.2\n---\nunits: us\n", "c.yaml:1:1: got a YAML directive, want none"},
		{"an anchor", "units: &u us\n", "c.yaml:1:8: got a YAML anchor or alias, want the value written out (a text that begins with & or * goes in quotes)"},
		{"an alias", "units: *u\n", "c.yaml:1:8: got a YAML anchor or alias, want the value written out (a text that begins with & or * goes in quotes)"},
		{"a tag", "gnss:\n  baud: !!int 9600\n", "c.yaml:2:9: got a YAML tag, want the value without one (a text that begins with ! goes in quotes)"},
		{"a merge key", "gnss:\n  <<: {baud: 9600}\n", "c.yaml:2:3: got a YAML merge key, want the keys written out"},
		{"a key twice", "units: us\nunits: metric\n", "c.yaml:2:1: got the key \"units\" a second time, want each key once"},
		{"a key twice in braces", "field: {name: a, name: b}\n", "c.yaml:1:18: got the key \"name\" a second time, want each key once"},
		{"unknown key", "implment: {}\n", "c.yaml:1:1: implment: got an unknown key, want a known key (did you mean implement?)"},
		{"unknown key, nothing near", "tractor: big\n", "c.yaml:1:1: tractor: got an unknown key, want one of units, timezone, gnss, controller, implement, tanks, field, fields, limits, server, data"},
		{"unknown key that would harm a terminal", "\"\\e[31m\": 1\n", `c.yaml:1:1: "\x1b[31m": got an unknown key, want one of units, timezone, gnss, controller, implement, tanks, field, fields, limits, server, data`},
		{"two faults in the order of the file", "limits: {max_gap_s: 0}\nunits: si\n", "c.yaml:1:21: limits.max_gap_s: got 0, want a number of seconds above 0, at most 600\n" +
			"c.yaml:2:8: units: got si, want one of metric, us, canadian"},
		// How things are shown.
		{"units", "units: imperial\n", "c.yaml:1:8: units: got imperial, want one of metric, us, canadian"},
		{"units nearly", "units: metrics\n", "c.yaml:1:8: units: got metrics, want one of metric, us, canadian (did you mean metric?)"},
		{"units in capitals", "units: US\n", "c.yaml:1:8: units: got US, want one of metric, us, canadian (did you mean us?)"},
		{"units empty", "units:\n", "c.yaml:1:1: units: got nothing, want one of metric, us, canadian"},
		{"timezone", "timezone: Lincolnshire\n", "c.yaml:1:11: timezone: got Lincolnshire, want a time zone such as Europe/London"},
		{"timezone as a number", "timezone: 1\n", "c.yaml:1:11: timezone: got 1, want a time zone such as Europe/London as a text in quotes: \"1\""},
		// Sources.
		{"source of no known kind", "gnss:\n  source: http://10.0.0.5\n", "c.yaml:2:11: gnss.source: got http://10.0.0.5, want a serial port's path such as /dev/ttyUSB0, tcp://host:port or udp://:port"},
		{"source without a scheme", "gnss: {source: '10.0.0.5:2000'}\n", "c.yaml:1:16: gnss.source: got 10.0.0.5:2000, want a serial port's path such as /dev/ttyUSB0, tcp://host:port or udp://:port"},
		{"source without a port", "gnss: {source: 'tcp://10.0.0.5'}\n", "c.yaml:1:16: gnss.source: got tcp://10.0.0.5, want a serial port's path such as /dev/ttyUSB0, tcp://host:port or udp://:port"},
		{"source without a host", "gnss: {source: 'tcp://:2000'}\n", "c.yaml:1:16: gnss.source: got tcp://:2000, want a serial port's path such as /dev/ttyUSB0, tcp://host:port or udp://:port"},
		{"source with port 0", "gnss: {source: 'udp://:0'}\n", "c.yaml:1:16: gnss.source: got udp://:0, want a serial port's path such as /dev/ttyUSB0, tcp://host:port or udp://:port"},
		{"source with a port beyond", "controller: {source: 'udp://:65536'}\n", "c.yaml:1:22: controller.source: got udp://:65536, want a serial port's path such as /dev/ttyUSB0, tcp://host:port or udp://:port"},
		{"one source for both", "gnss: {source: /dev/ttyUSB0}\ncontroller: {source: /dev/ttyUSB0}\n", "c.yaml:2:22: controller.source: got the source of gnss, want one of its own: two readers of a port would each miss lines"},
		{"baud", "gnss: {baud: 9601}\n", "c.yaml:1:14: gnss.baud: got 9601, want 0 (find out) or one of 1200, 2400, 4800, 9600, 14400, 19200, 28800, 38400, 57600, 76800, 115200, 230400, 460800, 921600"},
		{"baud as a text", "gnss: {baud: \"9600\"}\n", "c.yaml:1:14: gnss.baud: got the text \"9600\", want a whole number from 0 to 921600"},
		{"baud in hexadecimal", "gnss: {baud: 0x2580}\n", "c.yaml:1:14: gnss.baud: got the text \"0x2580\", want a whole number from 0 to 921600"},
		{"baud with a leading zero", "gnss: {baud: 09600}\n", "c.yaml:1:14: gnss.baud: got the text \"09600\", want a whole number from 0 to 921600"},
		{"baud negative", "gnss: {baud: -1}\n", "c.yaml:1:14: gnss.baud: got -1, want a whole number from 0 to 921600"},
		{"latency", "gnss: {latency_s: -0.1}\n", "c.yaml:1:19: gnss.latency_s: got -0.1, want a number of seconds from 0 to 10"},
		{"latency in milliseconds", "gnss: {latency_s: 120}\n", "c.yaml:1:19: gnss.latency_s: got 120, want a number of seconds from 0 to 10"},
		{"latency, no number", "gnss: {latency_s: .nan}\n", "c.yaml:1:19: gnss.latency_s: got the text \".nan\", want a number of seconds from 0 to 10"},
		{"latency, infinite", "gnss: {latency_s: .inf}\n", "c.yaml:1:19: gnss.latency_s: got the text \".inf\", want a number of seconds from 0 to 10"},
		{"latency beyond a float64", "gnss: {latency_s: 1e999}\n", "c.yaml:1:19: gnss.latency_s: got 1e999, want a number of seconds from 0 to 10"},
		{"quality", "gnss: {min_quality: dgnss}\n", "c.yaml:1:21: gnss.min_quality: got dgnss, want one of any, dgps, float, rtk (did you mean dgps?)"},
		{"quality true", "gnss: {min_quality: true}\n", "c.yaml:1:21: gnss.min_quality: got true, want one of any, dgps, float, rtk"},
		{"gnss as a text", "gnss: /dev/ttyUSB0\n", "c.yaml:1:7: gnss: got the text \"/dev/ttyUSB0\", want keys with values: source, baud, latency_s, min_quality"},
		{"stale", "controller: {stale_after_s: 0}\n", "c.yaml:1:29: controller.stale_after_s: got 0, want a number of seconds above 0, at most 600"},
		{"report lag", "controller: {report_lag_s: 61}\n", "c.yaml:1:28: controller.report_lag_s: got 61, want a number of seconds from 0 to 60"},
		// The line profile; what its values mean is compiled by package controller.
		{"line as a word", "controller: {line: keyvalue}\n", "c.yaml:1:20: controller.line: got the text \"keyvalue\", want keys with values: kind, separator, header, checksum, pattern, columns, units"},
		{"kind of line", line + "kind: csv\n", "c.yaml:3:11: controller.line.kind: got csv, want keyvalue, delimited or pattern"},
		{"kind of line in a list", line + "kind: [csv]\n", "c.yaml:3:11: controller.line.kind: got a list, want one of keyvalue, delimited, pattern"},
		{"header as a word", line + "kind: delimited\n    header: yes\n", "c.yaml:4:13: controller.line.header: got the text \"yes\", want true or false"},
		{"column key", line + "kind: delimited\n    columns:\n      - {colum: 1, field: speed}\n", "c.yaml:5:10: controller.line.columns[0].colum: got an unknown key, want a known key (did you mean column?)"},
		{"column number", line + "kind: delimited\n    columns:\n      - {column: 0, field: speed}\n", "c.yaml:5:18: controller.line.columns[0].column: got 0, want a whole number from 1 to 100000"},
		{"tank of a column", line + "kind: delimited\n    columns:\n      - {column: 1, field: rate, tank: 100}\n", "c.yaml:5:40: controller.line.columns[0].tank: got 100, want a whole number from 1 to 99"},
		{"scale", line + "kind: delimited\n    columns:\n      - {column: 1, field: rate, tank: 1, scale: big}\n", "c.yaml:5:50: controller.line.columns[0].scale: got the text \"big\", want a number from -1000000000000 to 1000000000000"},
		// The implement.
		{"no sections", "implement: {name: drill}\n", "c.yaml:1:12: implement.sections_m: got nothing, want the widths of the sections in metres, left to right, such as [3, 3, 3, 3]"},
		{"no sections in a block", "implement:\n  name: drill\n", "c.yaml:2:3: implement.sections_m: got nothing, want the widths of the sections in metres, left to right, such as [3, 3, 3, 3]"},
		{"one width", "implement: {sections_m: 12}\n", "c.yaml:1:25: implement.sections_m: got 12, want the widths of the sections in metres, left to right, such as [3, 3, 3, 3]"},
		{"sections empty", "implement: {sections_m: []}\n", "c.yaml:1:25: implement.sections_m: got 0 sections, want 1 to 256 sections"},
		{"too many sections", "implement: {sections_m: [" + strings.Repeat("0.5,", 257) + "]}\n", "c.yaml:1:25: implement.sections_m: got 257 sections, want 1 to 256 sections"},
		{"section of no width", "implement: {sections_m: [3, 0]}\n", "c.yaml:1:29: implement.sections_m[1]: got 0, want a number of metres above 0, at most 100"},
		{"section in centimetres", "implement: {sections_m: [300, 300]}\n", "c.yaml:1:26: implement.sections_m[0]: got 300, want a number of metres above 0, at most 100"},
		{"section with a unit", "implement: {sections_m: [3 m]}\n", "c.yaml:1:26: implement.sections_m[0]: got the text \"3 m\", want a number of metres above 0, at most 100"},
		{"bar too wide", "implement: {sections_m: [80, 80, 80]}\n", "c.yaml:1:25: implement.sections_m: got a bar of 240 m, want at most 200 m over all sections"},
		{"mount", "implement: {mount: trailed, sections_m: [3]}\n", "c.yaml:1:20: implement.mount: got trailed, want one of rigid, towed"},
		{"towed without an axle", "implement: {mount: towed, sections_m: [3]}\n", "c.yaml:1:12: implement.hitch_to_axle_m: got nothing, want the metres from the hitch to the wheels that steer a towed implement"},
		{"towed with an axle at the hitch", "implement: {mount: towed, hitch_to_axle_m: 0, sections_m: [3]}\n", "c.yaml:1:44: implement.hitch_to_axle_m: got 0, want a number of metres above 0, at most 50"},
		{"distance", "implement: {hitch_to_bar_m: 72, sections_m: [3]}\n", "c.yaml:1:29: implement.hitch_to_bar_m: got 72, want a number of metres from -50 to 50"},
		{"distance key without its unit", "implement: {hitch_to_bar: 7.2, sections_m: [3]}\n", "c.yaml:1:13: implement.hitch_to_bar: got an unknown key, want a known key (did you mean hitch_to_bar_m?)"},
		{"name as a number", "implement: {name: 12, sections_m: [3]}\n", "c.yaml:1:19: implement.name: got 12, want the implement's name as a text in quotes: \"12\""},
		{"name blank", "implement: {name: ' ', sections_m: [3]}\n", "c.yaml:1:19: implement.name: got an empty text, want the implement's name"},
		{"name with a line end", "implement: {name: \"a\\nb\", sections_m: [3]}\n", "c.yaml:1:19: implement.name: got \"a\\nb\", want the implement's name without control characters"},
		{"name too long", "implement: {name: " + strings.Repeat("x", 201) + ", sections_m: [3]}\n", "c.yaml:1:19: implement.name: got 201 bytes, want the implement's name of at most 200 bytes"},
		// Tanks.
		{"tanks as a map", "tanks: {tank: 1}\n", "c.yaml:1:8: tanks: got a group of keys, want a list of tanks"},
		{"a tank as a number", "tanks: [1]\n", "c.yaml:1:9: tanks[0]: got 1, want keys with values: tank, product, target, capacity, lag_s"},
		{"no tank number", "tanks:\n  - lag_s: 1\n", "c.yaml:2:5: tanks[0].tank: got nothing, want the tank's number from 1 to 99"},
		{"tank number", "tanks:\n  - tank: 0\n", "c.yaml:2:11: tanks[0].tank: got 0, want a whole number from 1 to 99"},
		{"half a tank", "tanks:\n  - tank: 1.5\n", "c.yaml:2:11: tanks[0].tank: got 1.5, want a whole number from 1 to 99"},
		{"tank twice", "tanks:\n  - tank: 2\n  - tank: 2\n", "c.yaml:3:11: tanks[1].tank: got tank 2 a second time, want each tank's number once"},
		{"lag", tank + "lag_s: 60.5\n", "c.yaml:3:12: tanks[0].lag_s: got 60.5, want a number of seconds from 0 to 60"},
		{"product without a name", tank + "product: {kind: seed}\n", "c.yaml:3:14: tanks[0].product.name: got nothing, want the product's name"},
		{"product kind", tank + "product: {name: Oats, kind: seeds}\n", "c.yaml:3:33: tanks[0].product.kind: got seeds, want one of seed, seed treatment, granular, liquid, anhydrous, inoculant (did you mean seed?)"},
		{"kernels of a liquid", tank + "product: {name: Wash, kind: liquid, thousand_kernel_g: 38}\n", "c.yaml:3:60: tanks[0].product.thousand_kernel_g: got a weight of kernels for a liquid, want it only for a seed"},
		{"kernels of no weight", tank + "product: {name: Oats, kind: seed, thousand_kernel_g: 0}\n", "c.yaml:3:58: tanks[0].product.thousand_kernel_g: got 0, want a number of grams above 0, at most 10000"},
		{"target of a seed", tank + seed + "target: 112 l/ha\n", "c.yaml:4:13: tanks[0].target: got 112 l/ha, want a mass or seeds per area for a seed, such as 112 kg/ha"},
		{"target of a liquid", tank + "product: {name: Wash, kind: liquid}\n    target: 112 kg/ha\n", "c.yaml:4:13: tanks[0].target: got 112 kg/ha, want a volume per area for a liquid, such as 80 l/ha"},
		{"target of a granular product", tank + "product: {name: Grain, kind: granular}\n    target: 100 l/ha\n", "c.yaml:4:13: tanks[0].target: got 100 l/ha, want a mass per area for a granular product, such as 112 kg/ha"},
		{"target of anhydrous", tank + "product: {name: Gas, kind: anhydrous}\n    target: 30000 seeds/ac\n", "c.yaml:4:13: tanks[0].target: got 30000 seeds/ac, want a mass or a volume per area for an anhydrous product, such as 112 kg/ha"},
		{"target of an inoculant", tank + "product: {name: Rhizo, kind: inoculant}\n    target: 3 kg\n", "c.yaml:4:13: tanks[0].target: got 3 kg, want a mass or a volume per area for an inoculant, such as 112 kg/ha"},
		{"target of a seed treatment", tank + "product: {name: Coat, kind: seed treatment}\n    target: 3 l/min\n", "c.yaml:4:13: tanks[0].target: got 3 l/min, want a mass or a volume per area for a seed treatment, such as 112 kg/ha"},
		{"target without a product", tank + "target: 3 km/h\n", "c.yaml:3:13: tanks[0].target: got 3 km/h, want a mass or a volume or seeds per area for a product of no stated kind, such as 112 kg/ha"},
		{"target without a unit", tank + seed + "target: 112\n", "c.yaml:4:13: tanks[0].target: got 112, want a mass or seeds per area for a seed, such as 112 kg/ha, with its unit"},
		{"target negative", tank + seed + "target: -112 kg/ha\n", "c.yaml:4:13: tanks[0].target: got -112 kg/ha, want a mass or seeds per area for a seed, such as 112 kg/ha"},
		{"capacity as a rate", tank + seed + "capacity: 3800 kg/ha\n", "c.yaml:4:15: tanks[0].capacity: got 3800 kg/ha, want a mass or seeds for a seed, such as 3800 kg"},
		{"capacity of nothing", tank + seed + "capacity: 0 kg\n", "c.yaml:4:15: tanks[0].capacity: got 0 kg, want a mass or seeds for a seed, such as 3800 kg"},
		{"capacity unlike the target", tank + seed + "target: 300 seeds/m2\n    capacity: 3800 kg\n", "c.yaml:5:15: tanks[0].capacity: got 3800 kg, want seeds as the target has, such as 900000 seeds, or thousand_kernel_g stated"},
		{"capacity of anhydrous unlike the target", tank + "product: {name: Gas, kind: anhydrous}\n    target: 100 kg/ha\n    capacity: 3800 l\n", "c.yaml:5:15: tanks[0].capacity: got 3800 l, want a mass as the target has, such as 3800 kg"},
		// Field, limits, server, data.
		{"field as a text", "field: Mill Piece\n", "c.yaml:1:8: field: got the text \"Mill Piece\", want keys with values: name, boundary"},
		{"field without a name", "field: {}\n", "c.yaml:1:8: field.name: got nothing, want the field's name"},
		{"no such boundary", boundary("far-reach.geojson"), "c.yaml:1:37: field.boundary: got far-reach.geojson, want a file of GeoJSON, GeoPackage, Shapefile, KML or KMZ that can be read, its path as seen from the configuration's folder (file does not exist)"},
		{"boundary that is no JSON", boundary("broken.geojson"), "broken.geojson:2:11: got the end of the text, want the JSON to go on"},
		{"boundary that crosses itself", boundary("bow-tie.geojson"), "bow-tie.geojson:1:61: coordinates[0][2]: got a side by which the ring crosses itself at [0.102, 53.401], want a ring whose sides meet in its corners only"},
		{"boundary and configuration", "data: 5\n" + boundary("bow-tie.geojson"), "c.yaml:1:7: data: got 5, want the folder for sessions as a text in quotes: \"5\"\n" +
			"bow-tie.geojson:1:61: coordinates[0][2]: got a side by which the ring crosses itself at [0.102, 53.401], want a ring whose sides meet in its corners only"},
		{"skip width", "limits: {skip_width_m: -1}\n", "c.yaml:1:24: limits.skip_width_m: got -1, want a number of metres from 0 to 200"},
		{"skip area", "limits: {skip_min_area_m2: -1}\n", "c.yaml:1:28: limits.skip_min_area_m2: got -1, want a number of square metres from 0 to 1000000"},
		{"jump", "limits: {max_speed_mps: 0}\n", "c.yaml:1:25: limits.max_speed_mps: got 0, want a number of metres a second above 0, at most 100"},
		{"listen without a port", "server: {listen: localhost}\n", "c.yaml:1:18: server.listen: got localhost, want an address host:port such as 127.0.0.1:8080"},
		{"a host with a port", "server: {hosts: ['board.farm:80', board]}\n", "c.yaml:1:18: server.hosts[0]: got board.farm:80, want a list of names without port, such as [board.farm.example]"},
		{"listen as a port", "server: {listen: 8080}\n", "c.yaml:1:18: server.listen: got 8080, want an address host:port such as 127.0.0.1:8080 as a text in quotes: \"8080\""},
		{"listen as an address of the web", "server: {listen: 'http://localhost:8080'}\n", "c.yaml:1:18: server.listen: got http://localhost:8080, want an address host:port such as 127.0.0.1:8080"},
		{"listen on a named port", "server: {listen: 'localhost:http'}\n", "c.yaml:1:18: server.listen: got localhost:http, want an address host:port such as 127.0.0.1:8080"},
		{"data as a list", "data: [a]\n", "c.yaml:1:7: data: got a list, want the folder for sessions"},
		// Characters, not bytes, are counted.
		{"column behind other letters", "{\"data\": \"Ærø\", units: si}\n", "c.yaml:1:24: units: got si, want one of metric, us, canadian"},
		{"line ends of two bytes", "units: us\r\ndata: x\r\nlimits:\r\n  max_gap_s: 0\r\n", "c.yaml:4:14: limits.max_gap_s: got 0, want a number of seconds above 0, at most 600"},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			open := files(map[string]string{
				"mill-piece.geojson": millPiece,
				"broken.geojson":     "{\"type\":\n\"Polygon\",",
				"bow-tie.geojson":    `{"type":"Polygon","coordinates":[[[0.1,53.4],[0.104,53.402],[0.104,53.4],[0.1,53.402],[0.1,53.4]]]}`,
			})
			_, err := config.Parse("c.yaml", []byte(c.text), open)
			var faults *config.Error
			if !errors.As(err, &faults) {
				t.Fatalf("got %v, want a fault: %s", err, c.want)
			}
			if got := err.Error(); got != c.want {
				t.Errorf("of %q\n got %s\nwant %s", c.text, got, c.want)
			}
		})
	}
}
