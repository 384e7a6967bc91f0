package probe

import (
	"strconv"
	"strings"

	"drawbar/controller"
)

// mostProposed is how many lines a proposal is made from.
const mostProposed = 2000

// propose thinks of a profile for lines that key=value does not read: columns
// between one and the same separator, else an expression that fits the most
// frequent form of line. What it finds decodes the lines, or it is not proposed.
func (c *Controller) propose(lines []Line) {
	c.From, c.Kind, c.Reports, c.Refused, c.Decoded = "", "", 0, []Refusal{}, []string{}
	lines = lines[max(0, len(lines)-mostProposed):]
	sum := checksumOf(lines)
	lines = summed(lines, sum)
	if t := tabulate(lines, sum); t != nil {
		c.Separator, c.Columns = t.separator, t.columns
		guess(c.Columns, t.rows)
		if c.adopt(lines, c.spec(sum, t.header)); c.Reports > 0 {
			return
		}
		for i := range c.Columns {
			c.Columns[i].spec = nil
		}
	}
	c.proposePattern(lines, sum)
}

// adopt takes a profile if it reads at least a third of the lines.
func (c *Controller) adopt(lines []Line, spec controller.ProfileSpec) {
	p := compile(spec)
	if p == nil {
		return
	}
	c.read(lines, p)
	if 3*c.Reports < len(lines) {
		c.Reports, c.Refused, c.Decoded = 0, []Refusal{}, []string{}
		return
	}
	c.From, c.Kind, c.proposal = fromProposal, spec.Kind, &spec
}

// checksumOf names the checksum that most lines carry behind a "*", "" for none.
func checksumOf(lines []Line) string {
	for _, name := range []string{"xor8", "sum8", "crc16-ccitt"} {
		if good := len(summed(lines, name)); good >= 2 && 3*good >= len(lines) {
			return name
		}
	}
	return ""
}

// summed is the lines whose checksum of that name is right, all of them without
// a name.
func summed(lines []Line, name string) (good []Line) {
	if name == "" {
		return lines
	}
	// A profile that takes every line, so that only the checksum can be at fault.
	d := compile(controller.ProfileSpec{Kind: "pattern", Checksum: name, Pattern: `(?P<any>$)`,
		Columns: []controller.ColumnSpec{{Column: "any", Field: "speed"}}}).NewDecoder()
	for _, l := range lines {
		_, e := d.Line(l.Text)
		if e == nil || e.Reason != controller.ReasonChecksum && e.Reason != controller.ReasonNotText {
			good = append(good, l)
		}
	}
	return good
}

// table is lines taken for columns.
type table struct {
	separator string
	header    bool
	columns   []Column
	rows      [][]string // without the header
}

// tabulate finds the separator under which the most lines have the same number
// of columns, two at least; nil if none has half of them.
func tabulate(lines []Line, sum string) *table {
	var best [][]string
	separator, width, most := "", 0, 0
	for _, s := range []string{";", ",", "\t", "|", "space"} {
		rows := make([][]string, 0, len(lines))
		count := map[int]int{}
		for _, l := range lines {
			row := cells(l.Text, s, sum)
			rows = append(rows, row)
			count[len(row)]++
		}
		for w := 2; w <= mostColumns; w++ {
			if n := count[w]; n > most || n == most && n > 0 && w > width {
				best, separator, width, most = rows, s, w, n
			}
		}
	}
	if 2*most < len(lines) {
		return nil
	}
	t := &table{separator: separator, columns: make([]Column, width)}
	for i := range t.columns {
		t.columns[i] = Column{Number: i + 1, Samples: []string{}}
	}
	for _, row := range best {
		if len(row) != width {
			continue
		}
		if names(row) {
			t.name(row)
			continue
		}
		t.rows = append(t.rows, row)
		for i, v := range row {
			t.columns[i].Samples = lastOf(t.columns[i].Samples, v, mostSamples)
		}
	}
	return t
}

// name takes a header. Before the first one, and before one that is another, the
// columns were others.
func (t *table) name(row []string) {
	same := t.header
	for i, name := range row {
		same = same && t.columns[i].Name == name
	}
	if same {
		return
	}
	t.header, t.rows = true, nil
	for i, name := range row {
		t.columns[i] = Column{Number: i + 1, Name: name, Samples: []string{}}
	}
}

// mostColumns bounds the columns of a table.
const mostColumns = 64

func cells(line []byte, separator, sum string) []string {
	text := string(line)
	if sum != "" {
		if star := strings.LastIndexByte(text, '*'); star >= 0 {
			text = text[:star]
		}
	}
	if separator == "space" {
		return strings.Fields(text)
	}
	row := strings.Split(text, separator)
	for i := range row {
		row[i] = strings.TrimSpace(row[i])
	}
	return row
}

// names tells whether a row names columns: words throughout, no value.
func names(row []string) bool {
	for _, v := range row {
		if v == "" || strings.ContainsAny(v[:1], "0123456789+-.") || strings.ContainsAny(v, "=*") || len(v) > 40 {
			return false
		}
		if isMask(v) || !strings.ContainsFunc(v, func(r rune) bool { return r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' }) {
			return false
		}
	}
	return true
}

// proposePattern makes an expression of the most frequent form of line: what is
// the same stays, each number becomes a group that is named after the word
// before it.
func (c *Controller) proposePattern(lines []Line, sum string) {
	count := map[string]int{}
	form, sample := "", ""
	for _, l := range lines {
		text := strings.Join(cells(l.Text, "\x00", sum), "")
		f := formOf(text)
		if len(f.groups) == 0 || len(f.groups) > mostColumns || printableBytes(l.Text) < len(l.Text) {
			continue
		}
		if len(count) < 1000 || count[f.pattern] > 0 {
			count[f.pattern]++
		}
		if n := count[f.pattern]; n > count[form] || form == f.pattern {
			form, sample = f.pattern, text
		}
	}
	if count[form] < 2 {
		return
	}
	f := formOf(sample)
	spec := controller.ProfileSpec{Kind: "pattern", Pattern: form, Checksum: sum}
	taken := map[string]bool{}
	for i, g := range f.groups {
		field, unit := hint(f.words[i])
		if field == "" || field == "sections" || field == "work" || taken[field] {
			continue
		}
		taken[field] = true
		col := controller.ColumnSpec{Column: g, Field: field, Unit: unit}
		if field != "speed" {
			col.Tank = 1
		}
		spec.Columns = append(spec.Columns, col)
	}
	if len(spec.Columns) > 0 {
		c.adopt(lines, spec)
	}
	if c.Reports > 0 {
		c.Separator, c.Columns = "", []Column{}
	}
}

// form is a line as an expression.
type form struct {
	pattern string
	groups  []string
	words   []string // before each group
}

func formOf(text string) (f form) {
	var b strings.Builder
	b.WriteByte('^')
	word := ""
	for i := 0; i < len(text); {
		end := i
		for end < len(text) && (text[end] >= '0' && text[end] <= '9' || text[end] == '.' && end > i) {
			end++
		}
		if end > i {
			name := "n" + strconv.Itoa(len(f.groups)+1)
			f.groups = append(f.groups, name)
			f.words = append(f.words, word)
			b.WriteString("(?P<" + name + `>[\d.]+)`)
			word, i = "", end
			continue
		}
		if ch := text[i]; strings.IndexByte(`\.+*?()|[]{}^$`, ch) >= 0 {
			b.WriteByte('\\')
		}
		b.WriteByte(text[i])
		word += text[i : i+1]
		i++
	}
	b.WriteByte('$')
	f.pattern = b.String()
	return f
}
