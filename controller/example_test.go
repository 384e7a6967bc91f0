package controller_test

import (
	"fmt"

	"drawbar/controller"
)

func Example() {
	profile, problems := controller.Compile(controller.ProfileSpec{}, controller.Defaults{})
	if len(problems) > 0 {
		fmt.Println(problems)
		return
	}
	decoder := profile.NewDecoder()
	for _, line := range []string{
		"work=1 sections=1101 tank.1.rate=112kg/ha",
		"work=1 sections=1111 tank.1.rate=112.5kg/ha*37",
		"work=1 sections=1111 tank.1.rate=112.5kg/ha*1F",
		"work=1 tank.1.rate=112,5kg/ha",
	} {
		report, refused := decoder.Line([]byte(line))
		if refused != nil {
			fmt.Println("refused:", refused)
			continue
		}
		rate := report.Tanks[0].Rate
		fmt.Printf("sections %s, %.5f %s\n", report.Sections, rate.SI, rate.Dim.SIUnit())
	}
	// Output:
	// sections 1101, 0.01120 kg/m2
	// sections 1111, 0.01125 kg/m2
	// refused: "*1F": checksum: want *37
	// refused: "5kg/ha": bad_pair: want key=value, a decimal point in numbers, no blank before a unit
}

func ExampleCompile() {
	_, problems := controller.Compile(controller.ProfileSpec{
		Kind: "delimited",
		Columns: []controller.ColumnSpec{
			{Column: "3", Field: "sections", Format: "octal"},
			{Column: "4", Field: "rate"},
		},
	}, controller.Defaults{})
	for _, p := range problems {
		fmt.Println(p)
	}
	// Output:
	// columns[0].format: got octal, want bits, hex or decimal
	// columns[1].tank: got nothing, want the tank that the rate is of, from 1, or tank_from: the column or group that gives it
}

func ExampleParseUnit() {
	gallons, _ := controller.ParseUnit("gal/ac")
	litres, _ := controller.ParseUnit("L/ha")
	v, _ := gallons.Quantity(10).In(litres)
	fmt.Printf("10 %s = %.4f %s\n", gallons.Name, v, litres.Name)
	_, err := controller.ParseUnit("ton/ac")
	fmt.Println(err)
	// Output:
	// 10 gal/ac = 93.5396 l/ha
	// unit "ton/ac" is not known, write t (1000 kg) or shortton (2000 lb): a ton may be either
}
