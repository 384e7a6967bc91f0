package replay

import (
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/foxglove/mcap/go/mcap"
)

// Head is what a recording says of itself at its start. An empty member was not
// stated.
type Head struct {
	Session string    `json:"session"` // name of the session
	Version string    `json:"version"` // of the program that recorded
	Zone    string    `json:"zone"`    // IANA name of the zone in which times are shown
	Config  string    `json:"config"`  // text of the configuration
	Outline string    `json:"outline"` // text of the boundary file that the configuration names
	Field   string    `json:"field"`   // as the configuration names it
	Start   time.Time `json:"start"`   // the session's clock, UTC
	Part    int       `json:"part"`    // of the session's files, from 1
	First   uint32    `json:"first"`   // number of the first line
}

// Contents sums up what a recording holds. A zero time is not known.
type Contents struct {
	Lines       [3]int    // by Stream
	First, Last time.Time // arrival of the first and the last line, by the session's clock
	Begin, End  time.Time // of the first and the last fix, by receiver time
	Fields      []string  // named in the head and by operator lines, in that order, each once
	Missing     int       // lines that were numbered but are not here
	Damaged     int       // places that were damaged when the file was packed
	LostBytes   int64     // of these places
	Cut         bool      // the recording had no end
}

// Total is the number of lines.
func (c Contents) Total() int { return c.Lines[0] + c.Lines[1] + c.Lines[2] }

// pair is one entry of a metadata record.
type pair struct{ key, value string }

const sumKey = "crc32"

// sumOf is the checksum of a record's entries but its own.
func sumOf(pairs []pair) string {
	sum := crc32.NewIEEE()
	for _, p := range pairs {
		if p.key != sumKey {
			fmt.Fprintf(sum, "%s\x00%s\x00", p.key, p.value)
		}
	}
	return fmt.Sprintf("%08x", sum.Sum32())
}

// metadataOf makes a metadata record of entries, which must be in order of key.
func metadataOf(name string, pairs []pair) *mcap.Metadata {
	m := &mcap.Metadata{Name: name, Metadata: map[string]string{sumKey: sumOf(pairs)}}
	for _, p := range pairs {
		m.Metadata[p.key] = p.value
	}
	return m
}

// parsePairs reads a metadata record of ours; ok is false unless its checksum
// agrees.
func parsePairs(content []byte) (name string, pairs []pair, ok bool) {
	name, rest, ok := prefixed(content)
	if !ok || len(rest) < 4 || uint64(binary.LittleEndian.Uint32(rest)) != uint64(len(rest)-4) {
		return "", nil, false
	}
	rest = rest[4:]
	sum := ""
	for len(rest) > 0 {
		var p pair
		if p.key, rest, ok = prefixed(rest); !ok {
			return "", nil, false
		}
		if p.value, rest, ok = prefixed(rest); !ok {
			return "", nil, false
		}
		if p.key == sumKey {
			sum = p.value
		}
		pairs = append(pairs, p)
	}
	return name, pairs, sum != "" && sum == sumOf(pairs)
}

// metadata takes a metadata record; another program's is passed over.
func (m *MCAPReader) metadata(content []byte, off int64) {
	name, pairs, ok := parsePairs(content)
	if !ok {
		if !m.foreign {
			m.report(off, int64(recordHead+len(content)), "a damaged metadata record")
		}
		return
	}
	switch name {
	case headName:
		m.head, m.hasHead = parseHead(pairs), true
		for _, p := range pairs {
			if n, err := strconv.Atoi(p.value); p.key == "format" && (err != nil || n > sessionFormat) {
				m.report(off, 0, "format %s of a later version, this one knows up to %d; what it knows is read", p.value, sessionFormat)
			}
		}
	case contentsName:
		m.contents, m.hasEnd = parseContents(pairs), true
	}
}

func (h Head) pairs() []pair {
	return []pair{
		{"config", h.Config},
		{"field", h.Field},
		{"first", strconv.FormatUint(uint64(h.First), 10)},
		{"format", strconv.Itoa(sessionFormat)},
		{"outline", h.Outline},
		{"part", strconv.Itoa(h.Part)},
		{"session", h.Session},
		{"start", stampOf(h.Start)},
		{"version", h.Version},
		{"zone", h.Zone},
	}
}

func parseHead(pairs []pair) (h Head) {
	for _, p := range pairs {
		switch p.key {
		case "config":
			h.Config = p.value
		case "field":
			h.Field = p.value
		case "first":
			n, _ := strconv.ParseUint(p.value, 10, 32)
			h.First = uint32(n)
		case "outline":
			h.Outline = p.value
		case "part":
			h.Part, _ = strconv.Atoi(p.value)
		case "session":
			h.Session = p.value
		case "start":
			h.Start = timeOf(p.value)
		case "version":
			h.Version = p.value
		case "zone":
			h.Zone = p.value
		}
	}
	return h
}

func (c Contents) pairs() []pair {
	return []pair{
		{"begin", stampOf(c.Begin)},
		{"controller", strconv.Itoa(c.Lines[StreamController])},
		{"cut", strconv.FormatBool(c.Cut)},
		{"damaged", strconv.Itoa(c.Damaged)},
		{"end", stampOf(c.End)},
		{"fields", strings.Join(c.Fields, "\n")},
		{"first", stampOf(c.First)},
		{"gnss", strconv.Itoa(c.Lines[StreamGNSS])},
		{"last", stampOf(c.Last)},
		{"lost_bytes", strconv.FormatInt(c.LostBytes, 10)},
		{"missing", strconv.Itoa(c.Missing)},
		{"operator", strconv.Itoa(c.Lines[StreamOperator])},
	}
}

func parseContents(pairs []pair) (c Contents) {
	for _, p := range pairs {
		switch p.key {
		case "begin":
			c.Begin = timeOf(p.value)
		case "controller":
			c.Lines[StreamController], _ = strconv.Atoi(p.value)
		case "cut":
			c.Cut = p.value == "true"
		case "damaged":
			c.Damaged, _ = strconv.Atoi(p.value)
		case "end":
			c.End = timeOf(p.value)
		case "fields":
			if p.value != "" {
				c.Fields = strings.Split(p.value, "\n")
			}
		case "first":
			c.First = timeOf(p.value)
		case "gnss":
			c.Lines[StreamGNSS], _ = strconv.Atoi(p.value)
		case "last":
			c.Last = timeOf(p.value)
		case "lost_bytes":
			c.LostBytes, _ = strconv.ParseInt(p.value, 10, 64)
		case "missing":
			c.Missing, _ = strconv.Atoi(p.value)
		case "operator":
			c.Lines[StreamOperator], _ = strconv.Atoi(p.value)
		}
	}
	return c
}

// stampOf writes a time as capture text does; empty where it is not known.
func stampOf(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return string(appendTime(nil, t))
}

func timeOf(s string) time.Time {
	t, rest, why := parseTime([]byte(s))
	if why != "" || len(rest) > 0 {
		return time.Time{}
	}
	return t
}

// addField notes a field's name.
func (c *Contents) addField(name string) {
	const most = 64
	name = strings.ReplaceAll(name, "\n", " ")
	if name != "" && len(c.Fields) < most && !slices.Contains(c.Fields, name) {
		c.Fields = append(c.Fields, name)
	}
}
