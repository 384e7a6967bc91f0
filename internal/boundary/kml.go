package boundary

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"

	"drawbar/controller"
	"drawbar/replay/statement"

	"github.com/paulmach/orb"
)

// kmlMaxDepth is how many elements may lie in one another.
const kmlMaxDepth = 100

// kmlMaxText is how long a name or a value may be that is looked at.
const kmlMaxText = 64 << 10

// kml reads every Placemark that has polygons (KML 2.2, OGC 07-147r2), whatever
// the folders it lies in. Pins and lines are passed over, and links to other
// files are not followed.
func (r *reader) kml(b []byte) {
	d := xml.NewDecoder(bytes.NewReader(b))
	d.CharsetReader = func(label string, in io.Reader) (io.Reader, error) {
		switch strings.ToLower(label) {
		case "iso-8859-1", "latin1", "windows-1252":
			text, err := io.ReadAll(in)
			return strings.NewReader(latin1(text)), err
		}
		return nil, fmt.Errorf("the encoding %s is not read, UTF-8 is", clean(label))
	}
	k := &kmlReader{reader: r, d: d}
	r.use(system{})
	if err := k.document(); err != nil {
		line, col := d.InputPos()
		r.put(statement.Fault{
			Problem: controller.Problem{Got: "KML that cannot be read (" + clean(strings.TrimPrefix(err.Error(), "XML syntax error on ")) + ")", Want: "an undamaged file"},
			Line:    line, Col: col,
		})
		return
	}
	if !k.root {
		r.fault("", "XML that is no KML", wantFormat)
	}
}

type kmlReader struct {
	*reader
	d      *xml.Decoder
	root   bool
	depth  int
	places int // Placemarks so far
}

// kmlPlace is a Placemark that is being read.
type kmlPlace struct {
	name    string
	keys    []string // attributes
	values  []string
	outline orb.MultiPolygon
}

var errDeep = errors.New("elements too deep in one another")

func (k *kmlReader) token() (xml.Token, error) {
	t, err := k.d.Token()
	if err != nil {
		return nil, err
	}
	switch t.(type) {
	case xml.StartElement:
		if k.depth++; k.depth > kmlMaxDepth {
			return nil, errDeep
		}
	case xml.EndElement:
		k.depth--
	}
	return t, nil
}

func (k *kmlReader) document() error {
	for !k.full {
		t, err := k.token()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return err
		}
		start, ok := t.(xml.StartElement)
		if !ok {
			continue
		}
		if k.depth == 1 {
			if k.root = start.Name.Local == "kml"; !k.root {
				return nil
			}
		}
		if start.Name.Local == "Placemark" {
			if err := k.placemark(); err != nil {
				return err
			}
		}
	}
	return nil
}

// placemark reads to the end of a Placemark.
func (k *kmlReader) placemark() error {
	k.places++
	at := fmt.Sprintf("Placemark %d", k.places)
	before := len(k.faults) + k.more
	var p kmlPlace
	err := k.children(func(start xml.StartElement) (err error) {
		switch start.Name.Local {
		case "name":
			p.name, err = k.text(kmlMaxText)
		case "ExtendedData":
			err = k.extended(&p)
		default:
			err = k.geometry(start, at, &p)
		}
		return err
	})
	if err != nil {
		return err
	}
	i := k.attributes(p.keys)
	if k.options.NameFrom != "" || p.name == "" {
		p.name = ""
		if i >= 0 {
			p.name = p.values[i]
		}
	}
	if len(k.faults)+k.more == before {
		k.add(at, p.name, p.outline)
	}
	return nil
}

// children calls do for every element inside the one that was just opened, to its
// end. do reads its element to the end.
func (k *kmlReader) children(do func(xml.StartElement) error) error {
	for {
		t, err := k.token()
		if err != nil {
			return unexpected(err)
		}
		switch t := t.(type) {
		case xml.StartElement:
			if err := do(t); err != nil {
				return err
			}
		case xml.EndElement:
			return nil
		}
	}
}

func unexpected(err error) error {
	if errors.Is(err, io.EOF) {
		return io.ErrUnexpectedEOF
	}
	return err
}

// skip passes over an element.
func (k *kmlReader) skip(xml.StartElement) error {
	return k.children(k.skip)
}

// text is the text of an element, to its end.
func (k *kmlReader) text(most int) (string, error) {
	var s []byte
	for {
		t, err := k.token()
		if err != nil {
			return "", unexpected(err)
		}
		switch t := t.(type) {
		case xml.CharData:
			if len(s)+len(t) > most {
				return "", fmt.Errorf("a text of more than %d bytes", most)
			}
			s = append(s, t...)
		case xml.StartElement:
			if err := k.skip(t); err != nil {
				return "", err
			}
		case xml.EndElement:
			return string(s), nil
		}
	}
}

// extended reads the attributes of a Placemark: <Data name=""><value>, or
// <SchemaData><SimpleData name="">.
func (k *kmlReader) extended(p *kmlPlace) error {
	take := func(key, value string) {
		if len(p.keys) < 1000 {
			p.keys, p.values = append(p.keys, key), append(p.values, value)
		}
	}
	return k.children(func(start xml.StartElement) error {
		switch start.Name.Local {
		case "Data":
			return k.children(func(inner xml.StartElement) error {
				if inner.Name.Local != "value" {
					return k.skip(inner)
				}
				s, err := k.text(kmlMaxText)
				take(attr(start, "name"), s)
				return err
			})
		case "SchemaData":
			return k.children(func(inner xml.StartElement) error {
				if inner.Name.Local != "SimpleData" {
					return k.skip(inner)
				}
				s, err := k.text(kmlMaxText)
				take(attr(inner, "name"), s)
				return err
			})
		default:
			return k.skip(start)
		}
	})
}

func attr(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// geometry reads a Polygon or a MultiGeometry, and passes over what else may
// stand in a Placemark.
func (k *kmlReader) geometry(start xml.StartElement, at string, p *kmlPlace) error {
	switch start.Name.Local {
	case "MultiGeometry":
		return k.children(func(inner xml.StartElement) error { return k.geometry(inner, at, p) })
	case "Polygon":
		return k.polygon(at, p)
	default:
		return k.skip(start)
	}
}

func (k *kmlReader) polygon(at string, p *kmlPlace) error {
	var outer orb.Ring
	var holes []orb.Ring
	outers := 0
	err := k.children(func(start xml.StartElement) error {
		local := start.Name.Local
		if local != "outerBoundaryIs" && local != "innerBoundaryIs" {
			return k.skip(start)
		}
		return k.children(func(inner xml.StartElement) error {
			if inner.Name.Local != "LinearRing" {
				return k.skip(inner)
			}
			ring, err := k.ring(called(at, clean(p.name)))
			if local == "outerBoundaryIs" {
				outer = ring
				outers++
			} else {
				holes = append(holes, ring)
			}
			return err
		})
	})
	if err != nil {
		return err
	}
	if outers != 1 {
		k.fault(called(at, clean(p.name)), fmt.Sprintf("a Polygon with %d outer boundaries", outers), "one")
		return nil
	}
	p.outline = append(p.outline, append(orb.Polygon{outer}, holes...))
	return nil
}

func (k *kmlReader) ring(at string) (ring orb.Ring, err error) {
	err = k.children(func(start xml.StartElement) error {
		if start.Name.Local != "coordinates" {
			return k.skip(start)
		}
		s, err := k.text(MaxBytes)
		if err != nil {
			return err
		}
		ring = k.coordinates(at, s)
		return nil
	})
	return ring, err
}

// coordinates reads "lon,lat[,altitude]" between blanks. What is none is told
// once.
func (k *kmlReader) coordinates(at, s string) (ring orb.Ring) {
	for word := range strings.FieldsSeq(s) {
		p, ok := kmlPosition(word)
		if !ok {
			k.fault(at, "the coordinates "+clean(word[:min(len(word), 60)]), "longitude,latitude in degrees without a blank between")
			return nil
		}
		ring = append(ring, p)
	}
	return ring
}

func kmlPosition(word string) (orb.Point, bool) {
	lon, rest, ok := strings.Cut(word, ",")
	if !ok {
		return orb.Point{}, false
	}
	lat, height, more := strings.Cut(rest, ",")
	x, errX := strconv.ParseFloat(lon, 64)
	y, errY := strconv.ParseFloat(lat, 64)
	if errX != nil || errY != nil {
		return orb.Point{}, false
	}
	if more && height != "" {
		if _, err := strconv.ParseFloat(height, 64); err != nil {
			return orb.Point{}, false
		}
	}
	return orb.Point{x, y}, true
}
