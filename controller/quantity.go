package controller

// Dim is what a quantity measures. Its SI unit stands behind each name.
type Dim uint8

// The dimensions that a rate controller reports.
const (
	DimNone          Dim = iota
	DimMassPerArea       // kg/m2
	DimVolumePerArea     // litre/m2
	DimCountPerArea      // seeds/m2
	DimMassPerTime       // kg/s
	DimVolumePerTime     // litre/s
	DimCountPerTime      // seeds/s
	DimMass              // kg
	DimVolume            // litre
	DimCount             // seeds
	DimSpeed             // m/s
)

// Quantity is a value in the SI unit of its dimension.
type Quantity struct {
	SI  float64
	Dim Dim
}
