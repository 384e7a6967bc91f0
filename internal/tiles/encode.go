package tiles

import (
	"encoding/binary"
	"math"
)

// extent is the width of a tile in its own units (Mapbox Vector Tile Specification
// 2.1, section 4.1).
const extent = 4096

// Kinds of geometry and commands (section 4.3).
const (
	geometryPoint   = 1
	geometryPolygon = 3

	commandMoveTo = 1
	commandLineTo = 2
	commandClose  = 7
)

// layer is a tile's one layer while it is being encoded.
type layer struct {
	shaper
	name     string
	features []byte
	count    int
	keys     []string
	values   []byte // encoded, one after the other
	keyAt    map[string]uint32
	textAt   map[string]uint32
	numberAt map[number]uint32
	tags     []byte // of the feature in hand
	geometry []byte
	cursor   point
	scratch  []byte
}

// begin begins a layer anew. It keeps the storage.
func (l *layer) begin(name string) {
	l.name = name
	l.features, l.count, l.keys, l.values = l.features[:0], 0, l.keys[:0], l.values[:0]
	l.tags, l.geometry, l.cursor = l.tags[:0], l.geometry[:0], point{}
	if l.keyAt == nil {
		l.keyAt, l.textAt, l.numberAt = map[string]uint32{}, map[string]uint32{}, map[number]uint32{}
	}
	clear(l.keyAt)
	clear(l.textAt)
	clear(l.numberAt)
}

// number is a property's value that is no text.
type number struct {
	kind byte // its field's number (section 4.4)
	bits uint64
}

const (
	valueString = 1
	valueDouble = 3
	valueUint   = 5
	valueSint   = 6
	valueBool   = 7
)

// tagString gives the feature in hand a property, as the others do.
func (l *layer) tagString(key, v string) {
	at, ok := l.textAt[v]
	if !ok {
		at = l.newValue()
		l.textAt[v] = at
		l.scratch = appendBytes(l.scratch[:0], valueString, v)
		l.values = appendBytes(l.values, 4, l.scratch)
	}
	l.tag(key, at)
}

func (l *layer) tagFloat(key string, v float64) {
	l.tagNumber(key, number{valueDouble, math.Float64bits(v)})
}

func (l *layer) tagInt(key string, v int64) {
	if v < 0 {
		l.tagNumber(key, number{valueSint, zigzag(v)})
		return
	}
	l.tagNumber(key, number{valueUint, uint64(v)})
}

func (l *layer) tagBool(key string, v bool) {
	one := uint64(0)
	if v {
		one = 1
	}
	l.tagNumber(key, number{valueBool, one})
}

func (l *layer) tagNumber(key string, v number) {
	at, ok := l.numberAt[v]
	if !ok {
		at = l.newValue()
		l.numberAt[v] = at
		if v.kind == valueDouble {
			l.scratch = binary.LittleEndian.AppendUint64(append(l.scratch[:0], v.kind<<3|1), v.bits)
		} else {
			l.scratch = binary.AppendUvarint(append(l.scratch[:0], v.kind<<3), v.bits)
		}
		l.values = appendBytes(l.values, 4, l.scratch)
	}
	l.tag(key, at)
}

// newValue is the number of a value that comes next.
func (l *layer) newValue() uint32 { return uint32(len(l.textAt) + len(l.numberAt)) }

func (l *layer) tag(key string, value uint32) {
	k, ok := l.keyAt[key]
	if !ok {
		k = uint32(len(l.keys))
		l.keyAt[key] = k
		l.keys = append(l.keys, key)
	}
	l.tags = binary.AppendUvarint(binary.AppendUvarint(l.tags, uint64(k)), uint64(value))
}

// appendBytes appends a field of bytes.
func appendBytes[B string | []byte](to []byte, field byte, b B) []byte {
	to = binary.AppendUvarint(append(to, field<<3|2), uint64(len(b)))
	return append(to, b...)
}

func zigzag(v int64) uint64 { return uint64(v<<1) ^ uint64(v>>63) }

func (l *layer) command(id, count int) {
	l.geometry = binary.AppendUvarint(l.geometry, uint64(count)<<3|uint64(id))
}

func (l *layer) to(p point) {
	l.geometry = binary.AppendUvarint(binary.AppendUvarint(l.geometry, zigzag(p.x-l.cursor.x)), zigzag(p.y-l.cursor.y))
	l.cursor = p
}

// ring adds a ring, given without its first point repeated.
func (l *layer) ring(r []point) {
	l.command(commandMoveTo, 1)
	l.to(r[0])
	l.command(commandLineTo, len(r)-1)
	for _, p := range r[1:] {
		l.to(p)
	}
	l.command(commandClose, 1)
}

// polygons adds the shape in hand to the feature in hand.
func (l *layer) polygons() {
	for _, p := range l.take() {
		for _, r := range p {
			l.ring(r)
		}
	}
}

// place adds a place.
func (l *layer) place(p point) {
	l.command(commandMoveTo, 1)
	l.to(p)
}

// end closes the feature in hand, which is dropped if it has no geometry.
func (l *layer) end(kind byte) {
	if len(l.geometry) > 0 {
		b := appendBytes(l.scratch[:0], 2, l.tags)
		b = append(b, 3<<3, kind)
		b = appendBytes(b, 4, l.geometry)
		l.features = appendBytes(l.features, 2, b)
		l.scratch = b
		l.count++
	}
	l.tags, l.geometry, l.cursor = l.tags[:0], l.geometry[:0], point{}
}

// size is about what the tile takes so far.
func (l *layer) size() int { return len(l.features) + len(l.values) }

// tile is the tile; nil where it has no features.
func (l *layer) tile() []byte {
	if l.count == 0 {
		return nil
	}
	b := appendBytes(make([]byte, 0, l.size()+256), 1, l.name)
	b = append(b, l.features...)
	for _, k := range l.keys {
		b = appendBytes(b, 3, k)
	}
	b = append(b, l.values...)
	b = binary.AppendUvarint(append(b, 5<<3), extent)
	b = append(b, 15<<3, 2) // version of the specification
	return appendBytes(make([]byte, 0, len(b)+8), 3, b)
}
