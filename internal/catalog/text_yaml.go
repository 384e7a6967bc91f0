package catalog

import (
	"fmt"
	"strings"

	"drawbar/internal/yamltree"
	"drawbar/replay/statement"
)

// readYAML reads the top of a YAML file by its lines: a key stands at the begin of
// a line, and each item of its list begins with a dash, all dashes in one column.
// YAML indents whatever stands inside an item further than its dash, texts of
// several lines too, so that items can be read one at a time.
func readYAML(text string, to receiver) {
	var lines []string
	for l := range strings.Lines(text) {
		if len(lines) >= maxLines {
			to.faults().Add(&statement.Node{Line: maxLines + 1, Col: 1}, "", fmt.Sprintf("more than %d lines", maxLines), "a catalogue")
			return
		}
		lines = append(lines, l)
	}
	seen := false
	for i := 0; i < len(lines); {
		switch l := lines[i]; {
		case blank(l):
			i++
			continue
		case !seen && strings.TrimRight(l, " \t\r\n") == "---":
			i++
		case !startsKey(l):
			to.faults().Add(&statement.Node{Line: int32(i + 1), Col: 1}, "", "a line that is no key", "keys such as schema and fields at the begin of a line")
			return
		default:
			end := i + 1
			for end < len(lines) && !startsKey(lines[end]) && !document(lines[end]) {
				end++
			}
			readMember(lines[i:end], i+1, to)
			i = end
		}
		seen = true
		if to.faults().More() > 0 {
			return
		}
	}
}

// blank tells of a line with nothing or a comment alone.
func blank(l string) bool {
	l = strings.TrimLeft(l, " \t\r\n")
	return l == "" || l[0] == '#'
}

func document(l string) bool {
	return strings.HasPrefix(l, "---") || strings.HasPrefix(l, "...") || strings.HasPrefix(l, "%")
}

func startsKey(l string) bool {
	return !blank(l) && l[0] != ' ' && l[0] != '\t' && !dashed(l) && !document(l) && l[0] != ']' && l[0] != '}'
}

func dashed(l string) bool {
	rest, ok := strings.CutPrefix(strings.TrimLeft(l, " "), "-")
	return ok && strings.TrimLeft(rest, " \t\r\n") != rest || ok && rest == ""
}

// readMember reads a key with what stands below it; line is that of the key.
func readMember(lines []string, line int, to receiver) {
	first := 1 // the line of the first item
	for first < len(lines) && blank(lines[first]) {
		first++
	}
	items := first < len(lines) && dashed(lines[first])
	head := lines
	if items {
		head = lines[:first]
	}
	m, ok := pair(head, line, to.faults())
	if !ok {
		return
	}
	list := to.member(m.Key, &statement.Node{Line: m.Line, Col: m.Col})
	if items && !(list && m.Value.Kind == statement.KindNull) {
		if m, ok = pair(lines, line, to.faults()); !ok { // a text whose lines begin with dashes
			return
		}
		items = false
	}
	if !items {
		to.value(m.Key, &m.Value)
		return
	}
	indent := strings.Index(lines[first], "-")
	for i, at := 0, first; at < len(lines) && to.faults().More() == 0; i++ {
		if i >= maxItems {
			to.faults().Put(tooMany(m.Key, line+at, indent+1))
			return
		}
		end := at + 1
		for end < len(lines) && !(dashed(lines[end]) && strings.Index(lines[end], "-") <= indent) {
			end++
		}
		n, ok := parseYAML(lines[at:end], line+at, to.faults())
		switch {
		case !ok || n == nil:
		case n.Kind != statement.KindList || len(n.Items) != 1:
			to.faults().Add(n, fmt.Sprintf("%s[%d]", m.Key, i), "no item of the list", "a dash in the column of the others, and what belongs to the item indented further")
		default:
			to.item(m.Key, i, &n.Items[0])
		}
		at = end
	}
}

// pair reads lines that are one key with its value.
func pair(lines []string, line int, faults *statement.Faults) (*statement.Member, bool) {
	n, ok := parseYAML(lines, line, faults)
	if !ok {
		return nil, false
	}
	if n == nil || n.Kind != statement.KindMap || len(n.Members) != 1 {
		faults.Add(&statement.Node{Line: int32(line), Col: 1}, "", "a line that is no key", "keys such as schema and fields at the begin of a line")
		return nil, false
	}
	return &n.Members[0], true
}

// parseYAML reads some lines of a file as YAML; line is that of the first.
func parseYAML(lines []string, line int, faults *statement.Faults) (*statement.Node, bool) {
	var own statement.Faults
	n := yamltree.Read(strings.Join(lines, ""), itemBounds(), &own)
	putShifted(faults, own.List(), line, 1)
	if n != nil {
		shift(n, line, 1)
	}
	return n, own.Len() == 0
}
