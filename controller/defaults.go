package controller

// tank finds a configured tank; the zero TankDefault when it is not.
func (d Defaults) tank(number int) TankDefault {
	for _, t := range d.Tanks {
		if t.Tank == number && number > 0 {
			return t
		}
	}
	return TankDefault{}
}

// tankUnitsOf works out once how the values of a tank are read.
func tankUnitsOf(p *Profile, t TankDefault) tankUnits {
	u := tankUnits{amount: t.Unit.Dim.Amount(), thousandKernelG: t.ThousandKernelG}
	kind := u.amount
	if kind == DimNone && len(p.units[fieldRate]) > 0 {
		kind = p.units[fieldRate][0].Dim.Amount() // not configured, but the profile says what its rates are
	}
	u.bare[fieldSpeed] = Unit{Name: "km/h", Dim: DimSpeed, ToSI: 1 / 3.6}
	u.bare[fieldRate] = bareRate(kind, t.Unit)
	u.bare[fieldFlow] = bareFlow(kind)
	u.bare[fieldTotal] = bareAmount(kind)
	u.bare[fieldLevel] = u.bare[fieldTotal]
	u.bare[fieldTarget] = u.bare[fieldRate]
	for f := fieldSpeed; f < fieldEnd; f++ {
		if list := p.units[f]; len(list) > 0 {
			u.bare[f] = bestUnit(list, kind)
		}
	}
	return u
}

// bestUnit is the first unit of the list that states the same kind of amount,
// else the first that can be carried over to it by the weight of a thousand
// kernels, else the first, with which a value is then refused. Where the kind is
// not known it is the first.
func bestUnit(list []Unit, kind Dim) Unit {
	if kind == DimNone {
		return list[0]
	}
	for _, u := range list {
		if u.Dim.Amount() == kind {
			return u
		}
	}
	for _, u := range list {
		if kind != DimVolume && u.Dim.Amount() != DimVolume {
			return u
		}
	}
	return list[0]
}

func bareRate(kind Dim, configured Unit) Unit {
	switch {
	case configured.Dim.PerArea():
		return configured
	case kind == DimVolume:
		return Unit{Name: "l/ha", Dim: DimVolumePerArea, ToSI: 1.0 / HectareM2}
	case kind == DimCount:
		return Unit{Name: "seeds/ha", Dim: DimCountPerArea, ToSI: 1.0 / HectareM2}
	default:
		return Unit{Name: "kg/ha", Dim: DimMassPerArea, ToSI: 1.0 / HectareM2}
	}
}

func bareFlow(kind Dim) Unit {
	switch kind {
	case DimMass:
		return Unit{Name: "kg/min", Dim: DimMassPerTime, ToSI: 1.0 / 60}
	case DimCount:
		return Unit{Name: "seeds/min", Dim: DimCountPerTime, ToSI: 1.0 / 60}
	default:
		return Unit{Name: "l/min", Dim: DimVolumePerTime, ToSI: 1.0 / 60}
	}
}

func bareAmount(kind Dim) Unit {
	switch kind {
	case DimVolume:
		return Unit{Name: "l", Dim: DimVolume, ToSI: 1}
	case DimCount:
		return Unit{Name: "seeds", Dim: DimCount, ToSI: 1}
	default:
		return Unit{Name: "kg", Dim: DimMass, ToSI: 1}
	}
}
