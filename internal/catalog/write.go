package catalog

import (
	"bufio"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"unicode"

	"drawbar/replay/statement"
)

// This file writes nodes as text. Errors of the writers below are kept by bufio
// and come out of its Flush.

// flat tells whether a list is written on one line: numbers, or lists of them.
func flat(n *statement.Node) bool {
	for i := range n.Items {
		switch it := &n.Items[i]; it.Kind {
		case statement.KindNumber:
		case statement.KindList:
			if !flat(it) {
				return false
			}
		default:
			return false
		}
	}
	return true
}

func numberText(v float64) string {
	if a := math.Abs(v); a != 0 && (a < 1e-6 || a >= 1e21) {
		return strconv.FormatFloat(v, 'g', -1, 64)
	}
	return strconv.FormatFloat(v, 'f', -1, 64)
}

func writeFlat(w *bufio.Writer, n *statement.Node) {
	if n.Kind == statement.KindNumber {
		w.WriteString(numberText(n.Num))
		return
	}
	w.WriteByte('[')
	for i := range n.Items {
		if i > 0 {
			w.WriteString(", ")
		}
		writeFlat(w, &n.Items[i])
	}
	w.WriteByte(']')
}

// quoted is a text in double quotes, as JSON and YAML both read it.
func quoted(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r == '\n':
			b.WriteString(`\n`)
		case r == '\r':
			b.WriteString(`\r`)
		case r == '\t':
			b.WriteString(`\t`)
		case r < 0x10000 && (!unicode.IsPrint(r) || r == '\ufeff'):
			fmt.Fprintf(&b, `\u%04x`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}

// yamlWriter writes blocks, two blanks an indent, each item of a list on lines of
// its own.
type yamlWriter struct{ w *bufio.Writer }

func (y *yamlWriter) begin() {
	y.w.WriteString("# The catalogue of a farm. Every number has its unit in its name (_m metres,\n" +
		"# _g grams, _pct per cent, _h hours) or beside it; boundaries are GeoJSON, WGS 84.\n" +
		"# Limits of products are what the user copied: the label alone counts.\n" +
		"schema: " + Schema + "\n")
}

func (y *yamlWriter) end() {}

func (y *yamlWriter) list(key string, n int) {
	y.w.WriteString(key + ":")
	if n == 0 {
		y.w.WriteString(" []")
	}
	y.w.WriteByte('\n')
}

func (y *yamlWriter) item(n *statement.Node) {
	y.w.WriteString("- ")
	y.members(n, "  ")
}

// members writes a map, the first member where the line stands.
func (y *yamlWriter) members(n *statement.Node, indent string) {
	for i := range n.Members {
		if i > 0 {
			y.w.WriteString(indent)
		}
		m := &n.Members[i]
		y.w.WriteString(m.Key + ":")
		switch v := &m.Value; {
		case v.Kind == statement.KindMap:
			y.w.WriteString("\n" + indent + "  ")
			y.members(v, indent+"  ")
		case v.Kind == statement.KindList && !flat(v):
			y.w.WriteByte('\n')
			for i := range v.Items {
				y.w.WriteString(indent + "- ")
				y.members(&v.Items[i], indent+"  ")
			}
		default:
			y.w.WriteByte(' ')
			y.scalar(v)
			y.w.WriteByte('\n')
		}
	}
}

// plainText is a text that no reader of YAML takes for anything else.
var plainText = regexp.MustCompile(`^([A-Za-z][A-Za-z0-9_]*|[0-9.]+)( [A-Za-z0-9_./%()+-]+)*$`)

// plain tells whether a text needs no quotes.
func plain(s string) bool {
	if !plainText.MatchString(s) {
		return false
	}
	switch strings.ToLower(s) {
	case "true", "false", "null", "yes", "no", "on", "off", "y", "n":
		return false
	}
	return strings.Trim(s, "0123456789.") != ""
}

func (y *yamlWriter) scalar(v *statement.Node) {
	switch v.Kind {
	case statement.KindBool:
		y.w.WriteString(strconv.FormatBool(v.Bool))
	case statement.KindNumber, statement.KindList:
		writeFlat(y.w, v)
	default:
		if plain(v.Text) {
			y.w.WriteString(v.Text)
		} else {
			y.w.WriteString(quoted(v.Text))
		}
	}
}

// jsonWriter writes the same as JSON.
type jsonWriter struct {
	w     *bufio.Writer
	open  bool // a list is
	items int  // written of it
}

func (j *jsonWriter) begin() { j.w.WriteString("{\n  \"schema\": " + quoted(Schema)) }

func (j *jsonWriter) list(key string, _ int) {
	j.close()
	j.w.WriteString(",\n  " + quoted(key) + ": [")
	j.open, j.items = true, 0
}

func (j *jsonWriter) close() {
	if j.open && j.items > 0 {
		j.w.WriteString("\n  ")
	}
	if j.open {
		j.w.WriteByte(']')
	}
	j.open = false
}

func (j *jsonWriter) item(n *statement.Node) {
	if j.items > 0 {
		j.w.WriteByte(',')
	}
	j.items++
	j.w.WriteString("\n    ")
	j.value(n, "    ")
}

func (j *jsonWriter) end() {
	j.close()
	j.w.WriteString("\n}\n")
}

func (j *jsonWriter) value(n *statement.Node, indent string) {
	switch {
	case n.Kind == statement.KindMap:
		j.w.WriteByte('{')
		for i := range n.Members {
			if i > 0 {
				j.w.WriteByte(',')
			}
			j.w.WriteString("\n" + indent + "  " + quoted(n.Members[i].Key) + ": ")
			j.value(&n.Members[i].Value, indent+"  ")
		}
		j.w.WriteString("\n" + indent + "}")
	case n.Kind == statement.KindList && !flat(n):
		j.w.WriteByte('[')
		for i := range n.Items {
			if i > 0 {
				j.w.WriteByte(',')
			}
			j.w.WriteString("\n" + indent + "  ")
			j.value(&n.Items[i], indent+"  ")
		}
		j.w.WriteString("\n" + indent + "]")
	case n.Kind == statement.KindList, n.Kind == statement.KindNumber:
		writeFlat(j.w, n)
	case n.Kind == statement.KindBool:
		j.w.WriteString(strconv.FormatBool(n.Bool))
	default:
		j.w.WriteString(quoted(n.Text))
	}
}
