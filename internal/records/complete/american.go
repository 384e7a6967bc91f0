package complete

const (
	readCFR  = "read in the Code of Federal Regulations of 1 January 2006 (govinfo), as it stood until it was rescinded"
	readPlan = "list as the Environmental Protection Agency's page on its own plan for Indian country gives it; the letters from memory: recheck in 40 CFR 171.303(b)(7)(vi)"
)

func in110(section, quote string) Source {
	return Source{Act: "7 CFR part 110 (rescinded)", Section: "§ 110.3" + section, Quote: quote, Read: readCFR}
}

func in171(letter, quote string) Source {
	return Source{Act: "40 CFR part 171", Section: "§ 171.303(b)(7)(vi)" + letter, Quote: quote, Read: readPlan}
}

// part110 is what certified applicators kept until the part was rescinded.
func part110() text {
	const product = "The brand or product name, and the EPA registration number of the restricted use pesticide that was applied"
	const where = "The location of the application, the size of area treated, and the crop, commodity, stored product, or site to which a restricted use pesticide was applied"
	const who = "The name and certification number (if applicable) of the certified applicator who applied or who supervised the application"
	return text{
		title:      "United States, federal rule until 10 July 2025: 7 CFR 110.3, restricted-use pesticides",
		recordDays: 14,
		keepYears:  2,
		notes: []string{
			"Part 110 was rescinded with effect from 11 July 2025 (Federal Register of 12 May 2025, document 2025-08220, read in a summary): since then the rules of the state, the tribe and 40 CFR part 171 decide.",
			"The record was made within 14 days of the application (§ 110.3(c), wording read in a later quotation).",
			"It was kept for two years from the application (§ 110.3(d) from memory; the two years read with state extension services).",
			"Applications of one day to less than 1/10 acre needed less: name, number, amount, date, and the place as a “spot application” with a short description (§ 110.3(b), from memory).",
			"A commercial applicator gave the record to the person for whom the work was done within 30 days (from memory).",
		},
		concerned: func(op Operation) (Answer, string) {
			answer, why := aboutRestricted(op)
			if answer == No {
				return No, why
			}
			switch before(op, part110Until) {
			case No:
				return No, "the rule was rescinded with effect from 11 July 2025: state and tribal rules decide"
			case Unsaid:
				return Unsaid, why + "; nothing says when the work was done, and the rule was rescinded with effect from 11 July 2025"
			default:
				return answer, why
			}
		},
		of: restricted,
		asks: []ask{
			{id: ProductName, words: "brand or product name", source: in110("(a)(1)", product), ofProduct: true},
			{id: Registration, words: "EPA registration number", source: in110("(a)(1)", product), ofProduct: true},
			{id: Amount, words: "total amount of the product applied, without water", source: in110("(a)(2)", "The total amount of the restricted use pesticide applied"), ofProduct: true},
			{id: Place, words: "location: by section, map, official field number or legal description", source: in110("(a)(3)", where)},
			{id: Area, words: "size of the area treated", source: in110("(a)(3)", where)},
			{id: Crop, words: "crop, commodity, stored product or site", source: in110("(a)(3)", where)},
			{id: Date, words: "month, day and year", source: in110("(a)(4)", "The month, day, and year on which the restricted use pesticide application occurred")},
			{id: Applicator, words: "name of the certified applicator who applied or supervised", source: in110("(a)(5)", who)},
			{
				id: Licence, words: "certification number of that applicator", source: in110("(a)(5)", who),
				when: "if applicable", needed: func(op Operation, _ int) Answer { return op.Certified },
			},
			supervised(in110("(a)(5)", who)),
		},
	}
}

// part171 is what states' plans ask of commercial applicators.
func part171() text {
	const when = "Year, month, day, and time of application"
	const who = "The name and certification number of the certified applicator that made or supervised the application, and, if applicable, the name of any noncertified applicator(s) that made the application under the direct supervision of the certified applicator"
	return text{
		title:     "United States, commercial applicators: 40 CFR 171.303(b)(7)(vi), restricted-use pesticides",
		keepYears: 2,
		notes: []string{
			"This is what a state's plan has to ask of commercial applicators; the state's or tribe's own rule decides, also for private applicators, and may ask for more and sooner.",
			"Records are kept for at least two years from the use.",
		},
		concerned: aboutRestricted,
		of:        restricted,
		asks: []ask{
			{
				id: Customer, words: "name and address of the person for whom it was applied", source: in171("(A)", "Name and address of the person for whom the RUP was applied"),
				when: "for commercial applicators", needed: func(op Operation, _ int) Answer { return op.ForOthers },
			},
			{id: Place, words: "location of the application", source: in171("(B)", "Location of the RUP application")},
			{id: Area, words: "size of the area treated", source: in171("(C)", "Size of the area treated")},
			{id: Crop, words: "crop, commodity, stored product or site", source: in171("(D)", "Specific crop, commodity, stored product, or site, to which the pesticide was applied")},
			{id: Date, words: "year, month and day", source: in171("(E)", when)},
			{id: StartTime, words: "time of the application", source: in171("(E)", when)},
			{id: ProductName, words: "brand or product name", source: in171("(F)", "The brand or product of the RUP applied"), ofProduct: true},
			{id: Registration, words: "EPA registration number", source: in171("(G)", "The EPA registration number of the RUP applied"), ofProduct: true},
			{id: Amount, words: "total amount applied at this place", source: in171("(H)", "The total amount of the RUP applied per location per application"), ofProduct: true},
			{id: Applicator, words: "name of the applicator", source: in171("(I)", who)},
			{
				id: Licence, words: "certification number of the applicator", source: in171("(I)", who),
				when: "of a certified applicator", needed: func(op Operation, _ int) Answer { return op.Certified },
			},
			supervised(in171("(I)", who)),
		},
	}
}

// supervised asks for the certified applicator where another did the work.
func supervised(source Source) ask {
	return ask{
		id: Supervisor, words: "name and certification number of the certified applicator who supervised", source: source,
		when: "where the person who applied is not certified",
		needed: func(op Operation, _ int) Answer {
			switch {
			case op.Certified == No:
				return Yes
			case op.Certified == Yes || op.Licence != "": // who has a number on record holds a certificate
				return No
			default:
				return Unsaid
			}
		},
	}
}
