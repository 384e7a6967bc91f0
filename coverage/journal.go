package coverage

import (
	"time"

	"drawbar/controller"
)

// Refill is what the operator said of a tank that was filled or looked into. One of
// Amount and Level is stated.
type Refill struct {
	Tank   int
	Amount controller.Quantity // mass, volume or count that was added; DimNone = not stated
	Level  controller.Quantity // what is in it now; DimNone = not stated
	Unit   controller.Unit     // in which it was stated
	Lot    string              // of the product; empty = not stated
	Person string              // who filled it; empty = not stated
}

// Weighed is what went out of a tank by scale or ticket.
type Weighed struct {
	Tank   int
	Amount controller.Quantity // mass, volume or count
	Unit   controller.Unit     // in which it was stated
	Ticket string              // empty = not stated
}

// WeatherHas tells which members of a Weather were stated.
type WeatherHas uint8

// The members of a Weather.
const (
	HasWind        WeatherHas = 1 << iota // WindMPS
	HasWindFrom                           // WindFromDeg
	HasTemperature                        // TemperatureC
	HasHumidity                           // HumidityPct
)

// Weather is what the operator saw. WindFromDeg is where the wind comes from,
// degrees true clockwise from north, 0 to 360.
type Weather struct {
	WindMPS      float64
	WindFromDeg  float64
	TemperatureC float64 // air, degrees Celsius
	HumidityPct  float64 // relative, percent
	Has          WeatherHas
}

// MarkSettled says of a mark of any session that it is done, or open again.
type MarkSettled struct {
	Of   string // SESSION#N: the number of the mark in that session
	Done bool
}

// Entry is something that was said beside the work, at its moment. Of the members
// after Operation at least one is not nil.
type Entry struct {
	At        time.Time
	Operation *Operation // in hand then; nil before there was one
	Refill    *Refill
	Note      *string
	Weather   *Weather
	Settled   *MarkSettled
	Product   Product        // of a refill: in the tank then
	Unit      controller.Dim // of a refill: of the tank's amounts
}
