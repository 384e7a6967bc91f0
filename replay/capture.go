package replay

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strconv"
)

// MaxCaptureLine is the longest line of capture text that is read, in bytes
// without its line end. Long lines are operator lines that carry a field
// boundary; 1 MiB holds one of some 25,000 corners.
const MaxCaptureLine = 1 << 20

// captureBuffer is what the reader asks for at once; longer lines are gathered
// beside it.
const captureBuffer = 64 << 10

// CorruptError names a damaged place of a recording. The reader that returns
// it has passed over that place: its next call goes on behind it.
type CorruptError struct {
	File   string
	Why    string
	Line   int   // from 1; 0 in a file that is not text
	Offset int64 // of the first damaged byte's line or record, from the start of the file
	Bytes  int64 // how many were passed over, where Line is 0
}

// Error reads "mill.capture line 17: bad escape …" or "mill.mcap at byte 4711:
// the checksum of a line differs".
func (e *CorruptError) Error() string {
	if e.Line == 0 {
		return fmt.Sprintf("%s at byte %d: %s", e.File, e.Offset, e.Why)
	}
	return fmt.Sprintf("%s line %d: %s", e.File, e.Line, e.Why)
}

// AppendCapture appends e as one line of capture text, with its line end:
//
//	2026-05-14T13:05:10.200Z gnss $GPGGA,130510.20,...*5C
//
// The time is UTC with three, six or nine digits of fraction, as few as hold
// it; one outside the years 0 to 9999, which RFC 3339 cannot write, is moved to
// the nearer end of them. Bytes outside printable ASCII and the backslash
// become \xHH. Equal events give equal bytes.
func AppendCapture(dst []byte, e Event) []byte {
	dst = appendTime(dst, e.At)
	dst = append(dst, ' ')
	dst = append(dst, e.Stream.String()...)
	dst = append(dst, ' ')
	const digits = "0123456789ABCDEF"
	for _, c := range e.Line {
		if c < ' ' || c > '~' || c == '\\' {
			dst = append(dst, '\\', 'x', digits[c>>4], digits[c&15])
		} else {
			dst = append(dst, c)
		}
	}
	return append(dst, '\n')
}

// CaptureReader reads capture text as a stream of events. Comment lines (#) and
// blank ones are passed over, line ends are LF or CR LF, a byte order mark at
// the start is ignored. Besides printable ASCII it takes tabs and bytes from
// 0x80 up as they stand, as an editor leaves them; other control bytes are
// damage.
//
// It holds one line at a time and does not allocate for lines under 64 KiB.
type CaptureReader struct {
	r      *bufio.Reader
	name   string
	long   []byte // a line that is longer than r's buffer
	line   int
	offset int64
	cut    bool
}

// NewCaptureReader reads capture text from r; name stands for it in errors.
func NewCaptureReader(r io.Reader, name string) *CaptureReader {
	return &CaptureReader{r: bufio.NewReaderSize(r, captureBuffer), name: name}
}

// Next returns the next event, io.EOF after the last one, or a *CorruptError
// for a line that is no event; it is then ready for the line after it. Any other
// error is the underlying reader's. The event's Line is valid until the next
// call.
func (c *CaptureReader) Next() (Event, error) {
	for {
		start := c.offset
		text, err := c.readLine()
		if err == io.EOF {
			return Event{}, io.EOF
		}
		if err != nil && err != errLongLine {
			return Event{}, fmt.Errorf("read %s: %w", c.name, err)
		}
		c.line++
		if err == errLongLine {
			why := fmt.Sprintf("longer than %d bytes; it was passed over", MaxCaptureLine)
			return Event{}, &CorruptError{File: c.name, Line: c.line, Offset: start, Why: why}
		}
		if c.line == 1 && len(text) >= 3 && string(text[:3]) == "\ufeff" {
			text = text[3:]
		}
		if len(text) == 0 || text[0] == '#' || blank(text) {
			continue
		}
		e, why := parseCapture(text)
		if why == "" && c.cut && !wholeByItself(e) {
			why = "nothing shows that the line is whole"
		}
		if why != "" {
			if c.cut {
				why += "; the file ends within this line"
			}
			return Event{}, &CorruptError{File: c.name, Line: c.line, Offset: start, Why: why}
		}
		return e, nil
	}
}

// wholeByItself tells whether a line shows that nothing of it is missing: by its
// checksum, or because it is one JSON object. A recording that breaks off in
// the middle of a line must not leave "rate=11" of "rate=112.5".
func wholeByItself(e Event) bool {
	line := e.Line
	if e.Stream == StreamOperator {
		return json.Valid(line)
	}
	if e.Stream == StreamGNSS {
		if i := bytes.LastIndexAny(line, "$!"); i >= 0 {
			line = line[i+1:]
		}
	}
	n := len(line) - 3
	if n < 0 || line[n] != '*' {
		return false
	}
	sum := byte(0)
	for _, b := range line[:n] {
		sum ^= b
	}
	stated, err := strconv.ParseUint(string(line[n+1:]), 16, 8)
	return err == nil && byte(stated) == sum
}

// Cut tells, after io.EOF, that the last line had no line end: the file may have
// been cut within it.
func (c *CaptureReader) Cut() bool { return c.cut }

var errLongLine = errors.New("line too long")

// readLine returns the next line without its end. After errLongLine the reader
// stands behind that line.
func (c *CaptureReader) readLine() ([]byte, error) {
	text, err := c.r.ReadSlice('\n')
	c.offset += int64(len(text))
	if err == bufio.ErrBufferFull {
		c.long = append(c.long[:0], text...)
		for err == bufio.ErrBufferFull {
			text, err = c.r.ReadSlice('\n')
			c.offset += int64(len(text))
			// Two bytes more than the limit: the line end.
			if room := MaxCaptureLine + 2 - len(c.long) + 1; len(text) > room {
				text = text[:room]
			}
			c.long = append(c.long, text...)
		}
		text = c.long
	}
	if err != nil && (err != io.EOF || len(text) == 0) {
		return nil, err
	}
	c.cut = err == io.EOF
	if n := len(text); n > 0 && text[n-1] == '\n' {
		text = text[:n-1]
	}
	for n := len(text); n > 0 && text[n-1] == '\r'; n-- {
		text = text[:n-1]
	}
	if len(text) > MaxCaptureLine {
		return nil, errLongLine
	}
	return text, nil
}

func blank(text []byte) bool {
	for _, c := range text {
		if c != ' ' && c != '\t' {
			return false
		}
	}
	return true
}

// parseCapture reads one line, undoing its escapes in place. why is empty or
// says what is wrong.
func parseCapture(text []byte) (e Event, why string) {
	at, rest, why := parseTime(text)
	if why != "" {
		return Event{}, why
	}
	if len(rest) == 0 || rest[0] != ' ' {
		return Event{}, "want one space and the stream after the time"
	}
	rest = rest[1:]
	word := rest
	for i, c := range rest {
		if c == ' ' {
			word = rest[:i]
			break
		}
	}
	switch string(word) {
	case "gnss":
		e.Stream = StreamGNSS
	case "controller":
		e.Stream = StreamController
	case "operator":
		e.Stream = StreamOperator
	default:
		return Event{}, fmt.Sprintf("stream %s, want gnss, controller or operator", quoteShort(word))
	}
	// An editor may have taken the space before an empty line.
	line, why := unescape(rest[min(len(word)+1, len(rest)):])
	if why != "" {
		return Event{}, why
	}
	e.At, e.Line = at, line
	return e, ""
}

// unescape turns \xHH into bytes, in place: what it returns is a head of b.
func unescape(b []byte) (line []byte, why string) {
	n := 0
	for i := 0; i < len(b); i++ {
		c := b[i]
		switch {
		case c == '\\':
			v, ok := escape(b[i:])
			if !ok {
				return nil, fmt.Sprintf(`bad escape %s, want \xHH with two hex digits; a backslash itself is written \x5C`, quoteShort(b[i:min(i+4, len(b))]))
			}
			c = v
			i += 3
		case c < ' ' && c != '\t', c == 0x7f:
			return nil, fmt.Sprintf(`control byte 0x%02X, want it written as \x%02X`, c, c)
		}
		b[n] = c
		n++
	}
	return b[:n], ""
}

// escape reads the \xHH at the start of b.
func escape(b []byte) (byte, bool) {
	if len(b) < 4 || b[1] != 'x' {
		return 0, false
	}
	hi, ok1 := hexDigit(b[2])
	lo, ok2 := hexDigit(b[3])
	return hi<<4 | lo, ok1 && ok2
}

func hexDigit(c byte) (byte, bool) {
	switch {
	case c >= '0' && c <= '9':
		return c - '0', true
	case c >= 'A' && c <= 'F':
		return c - 'A' + 10, true
	case c >= 'a' && c <= 'f':
		return c - 'a' + 10, true
	}
	return 0, false
}

// quoteShort quotes the start of text for an error, so that a line of noise does
// not become a page of noise.
func quoteShort(text []byte) string {
	const most = 24
	if len(text) > most {
		return fmt.Sprintf("%q…", text[:most])
	}
	return fmt.Sprintf("%q", text)
}
