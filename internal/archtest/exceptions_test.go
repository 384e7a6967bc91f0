package archtest

import "testing"

// exceptions excuse one finding each, by package and key. The reason is for the
// reader; without one a row does not count.
var exceptions = []struct{ path, key, reason string }{
	{"coverage/plane", "math.Mod", "the remainder of two doubles is a double: nothing is rounded, so it is the same everywhere"},
	{"replay", "MarkFigures.Lon", "named as the member of the summary, degrees WGS 84"},
	{"replay", "MarkFigures.Lat", "named as the member of the summary, degrees WGS 84"},
	{"replay/statement", "Node.Num", "a number as read; its unit is known to whoever asked for it"},
}

// report fails the test for every finding that no exception excuses.
func report(t *testing.T, rule string, findings []finding) {
	t.Helper()
	for _, f := range findings {
		if !excused(f) {
			t.Errorf("%s: %s", rule, f.text)
		}
	}
}

func excused(f finding) bool {
	for _, e := range exceptions {
		if e.reason != "" && e.path == f.path && e.key == f.key {
			return true
		}
	}
	return false
}

func TestExceptionsAreNeeded(t *testing.T) {
	t.Parallel()
	var all []finding
	for _, s := range core(t) {
		for _, rule := range rules {
			all = append(all, rule.find(s)...)
		}
	}
	for _, e := range exceptions {
		used := false
		for _, f := range all {
			used = used || f.path == e.path && f.key == e.key
		}
		if !used || e.reason == "" {
			t.Errorf("exception %s %s: excuses nothing or gives no reason: remove the row", e.path, e.key)
		}
	}
}

// rules are the checks that read source text.
var rules = []struct {
	name string
	find func(*source) []finding
}{
	{"import", findImports},
	{"pure core", findImpure},
	{"unit of a number", findUnits},
}

func TestRules(t *testing.T) {
	t.Parallel()
	for _, rule := range rules {
		t.Run(rule.name, func(t *testing.T) {
			t.Parallel()
			for _, s := range core(t) {
				report(t, rule.name, rule.find(s))
			}
		})
	}
}
