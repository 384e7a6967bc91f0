package probe

import (
	"time"

	"drawbar/controller"
)

// Carries is what a port carries.
type Carries string

// What a port can carry.
const (
	CarriesReceiver   Carries = "receiver"
	CarriesController Carries = "controller" // lines that a profile reads
	CarriesText       Carries = "text"       // lines that no profile at hand reads
	CarriesNoise      Carries = "noise"      // bytes that are no text: another rate, or a binary protocol
	CarriesSilence    Carries = "silence"
)

// Line is one line with its time of arrival; a zero At is not known.
type Line struct {
	At   time.Time
	Text []byte
}

// Options are what is known besides the lines.
type Options struct {
	Address   string
	Baud      int           // in use; 0: not a serial port, or not known
	Serial    bool          // Address is a serial port
	Recording bool          // Address is a file
	Searched  bool          // the baud rate was looked for
	NotFound  bool          // and none gave readable lines
	Listened  time.Duration // 0: not known
	Bytes     uint64        // read in all
	PortError string        // why the port is not open, in words

	// Spec and Profile are the configured line profile, nil: none is.
	Spec    *controller.ProfileSpec
	Profile *controller.Profile
}

// Finding is what was found. Unknown is null in JSON, never 0.
type Finding struct {
	Source     string      `json:"source"`
	Baud       *int        `json:"baud"`
	ListenedS  *float64    `json:"listened_s"`
	Bytes      uint64      `json:"bytes"`
	Lines      int         `json:"lines"` // that are not blank
	Carries    Carries     `json:"carries"`
	Receiver   *Receiver   `json:"receiver"`
	Controller *Controller `json:"controller"`
	Advice     []string    `json:"advice"`
	YAML       string      `json:"yaml"` // to paste; empty where nothing can be said

	wrong []string
}

// Wrong is the part of the advice that is because something is wrong.
func (f *Finding) Wrong() []string { return f.wrong }

// Receiver is a GNSS receiver on the port.
type Receiver struct {
	Sentences   []Sentence `json:"sentences"`    // by formatter
	BadChecksum int        `json:"bad_checksum"` // sentences with a wrong one
	OtherBytes  bool       `json:"other_bytes"`  // a binary protocol shares the port
	Fixes       int        `json:"fixes"`
	FixesPerS   *float64   `json:"fixes_per_s"` // while it has a position
	Quality     string     `json:"quality"`     // of the last fix, "none" without one
	Lost        bool       `json:"lost"`        // there was a position, and then none
	LatDeg      *float64   `json:"lat_deg"`     // WGS 84
	LonDeg      *float64   `json:"lon_deg"`     // WGS 84
	Satellites  *int       `json:"satellites"`
	Heading     Heading    `json:"heading"`
	HeadingDeg  *float64   `json:"heading_deg"` // the last one measured, degrees true
	Time        *time.Time `json:"time"`        // UTC by the receiver, where it has said the date too
	Clock       string     `json:"clock"`       // its last time of day, "" without one
}

// Sentence is one type of sentence.
type Sentence struct {
	Formatter string   `json:"formatter"`
	Talkers   []string `json:"talkers"` // in the order of the alphabet; none of a proprietary sentence
	Count     int      `json:"count"`
	PerS      *float64 `json:"per_s"`
	Used      bool     `json:"used"` // drawbar reads it
}

// Heading is whether a receiver measures where the machine points.
type Heading string

// The states of a heading.
const (
	HeadingMeasured Heading = "measured"
	HeadingEmpty    Heading = "empty" // the sentence comes, without a value
	HeadingNone     Heading = "none"
)

// Controller is a rate controller on the port, or text that may be one's.
type Controller struct {
	Kind      string    `json:"kind"`       // of the profile that reads the lines, else of the one proposed; "" for none
	From      string    `json:"from"`       // configuration, keyvalue or proposal
	Reports   int       `json:"reports"`    // lines that it reads
	PerS      *float64  `json:"per_s"`      // lines a second
	Refused   []Refusal `json:"refused"`    // by reason, the most frequent first
	Decoded   []string  `json:"decoded"`    // the last report of each tank, in words
	Separator string    `json:"separator"`  // as in a profile
	Columns   []Column  `json:"columns"`    // of delimited text
	Samples   []string  `json:"samples"`    // the last lines as they came
	Why       string    `json:"why_not"`    // why nothing reads them
	Unknown   []string  `json:"keys_other"` // key=value: keys that are not ours

	proposal *controller.ProfileSpec // what is proposed, nil without a proposal
}

// Refusal is why lines were refused.
type Refusal struct {
	Reason  string `json:"reason"`
	Count   int    `json:"count"`
	Example string `json:"example"` // the last such line, in words
}

// Column is one column of delimited text.
type Column struct {
	Number  int      `json:"column"`
	Name    string   `json:"name"`    // in the header, "" without one
	Samples []string `json:"samples"` // up to three different values, the last ones
	Looks   string   `json:"looks"`   // like, in words
	spec    *controller.ColumnSpec
}
