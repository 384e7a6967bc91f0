package recorded

import (
	"fmt"
	"path/filepath"
	"strings"
)

// Format is a format of recorded input.
type Format string

// The formats of recorded input.
const (
	ByName  Format = "" // by the end of the file's name
	Capture Format = "capture"
	NMEA    Format = "nmea"
	MCAP    Format = "mcap"
)

// FormatOf is the format of a file by the end of its name.
func FormatOf(name string) (Format, error) {
	switch ext := strings.ToLower(filepath.Ext(name)); ext {
	case ".capture":
		return Capture, nil
	case ".nmea", ".log", ".txt":
		return NMEA, nil
	case ".mcap":
		return MCAP, nil
	default:
		return ByName, fmt.Errorf("%s: unknown kind of input, want a name that ends in .mcap, .capture, .nmea, .log or .txt, or say --format", name)
	}
}
