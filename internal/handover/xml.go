package handover

import (
	"bufio"
	"encoding/xml"
	"strings"
)

const xmlHead = `<?xml version="1.0" encoding="UTF-8"?>` + "\n"

// element writes an element with text alone, unless the text is empty.
func element(b *bufio.Writer, indent, name, text string) {
	if text == "" {
		return
	}
	b.WriteString(indent + "<" + name + ">")
	xml.EscapeText(b, []byte(text)) // errors are kept by b
	b.WriteString("</" + name + ">\n")
}

// writeGPX writes GPX 1.1 (topografix.com/GPX/1/1, gpx.xsd): the children of wpt in
// the order of wptType.
func writeGPX(b *bufio.Writer, title string, places []Place) {
	b.WriteString(xmlHead + `<gpx xmlns="http://www.topografix.com/GPX/1/1" version="1.1" creator="drawbar">` + "\n")
	if title != "" {
		b.WriteString("  <metadata>\n")
		element(b, "    ", "name", title)
		b.WriteString("  </metadata>\n")
	}
	for _, p := range places {
		b.WriteString(`  <wpt lat="` + degrees(p.LatDeg) + `" lon="` + longitude(p.LonDeg) + `">` + "\n")
		if !p.Left.IsZero() {
			element(b, "    ", "time", moment(p.Left))
		}
		element(b, "    ", "name", p.Name)
		element(b, "    ", "cmt", p.Note)
		element(b, "    ", "desc", words(p))
		element(b, "    ", "type", p.Kind)
		b.WriteString("  </wpt>\n")
	}
	b.WriteString("</gpx>\n")
}

// writeKML writes KML 2.2 (OGC 07-147r2): the children of Placemark in the order of
// AbstractFeatureType, the geometry last.
func writeKML(b *bufio.Writer, title string, places []Place) {
	b.WriteString(xmlHead + `<kml xmlns="http://www.opengis.net/kml/2.2">` + "\n<Document>\n")
	element(b, "  ", "name", title)
	for _, p := range places {
		b.WriteString("  <Placemark>\n")
		element(b, "    ", "name", p.Name)
		element(b, "    ", "description", words(p))
		if !p.Left.IsZero() {
			b.WriteString("    <TimeStamp><when>" + moment(p.Left) + "</when></TimeStamp>\n")
		}
		b.WriteString("    <ExtendedData>\n")
		for _, d := range [][2]string{{"kind", p.Kind}, {"note", p.Note}, {"field", p.Field}, {"state", state(p.Done)}} {
			if d[1] == "" {
				continue
			}
			b.WriteString(`      <Data name="` + d[0] + `">`)
			b.WriteString("<value>")
			xml.EscapeText(b, []byte(d[1]))
			b.WriteString("</value></Data>\n")
		}
		b.WriteString("    </ExtendedData>\n    <Point><coordinates>" + longitude(p.LonDeg) + "," + degrees(p.LatDeg) + "</coordinates></Point>\n  </Placemark>\n")
	}
	b.WriteString("</Document>\n</kml>\n")
}

// words are what is told of a place to somebody who reads it: note, field, state.
func words(p Place) string {
	var all []string
	for _, s := range []string{p.Note, p.Field, state(p.Done)} {
		if s = strings.TrimSpace(s); s != "" {
			all = append(all, s)
		}
	}
	return strings.Join(all, "\n")
}
