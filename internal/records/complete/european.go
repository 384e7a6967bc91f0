package complete

// How the European texts were read. EUR-Lex publishes them under CELEX 32009R1107,
// 32023R0564 and 32025R2203.
const (
	readRecital = "sense of Article 67(1) as recital 1 of the draft of (EU) 2023/564 repeats it; the three years in the French text of Article 67(1)"
	readAnnex   = "columns of the Annex from summaries of it by advisory services, not from the table itself; recheck in CELEX 32023R0564, Annex"
	readTime    = "wording of the cell and of footnote 4 as quoted by a reader of the Annex; recheck in CELEX 32023R0564, Annex"
	readStage   = "sense of the cell and of footnote 7 as told by a reader of the Annex; recheck in CELEX 32023R0564, Annex"
	readMemory  = "from memory; recheck in CELEX 32023R0564, Annex"

	quote67 = "containing the name of the product, the time and the dose of application, the area treated and the crop where the product was used"
)

func in67(quote string) Source {
	return Source{Act: "Regulation (EC) No 1107/2009", Section: "Article 67(1)", Quote: quote, Read: readRecital}
}

func inAnnex(column, quote, read string) Source {
	return Source{Act: "Implementing Regulation (EU) 2023/564", Section: "Annex, column “" + column + "”", Quote: quote, Read: read}
}

// article67 asks for the five things that the regulation itself names.
func article67() text {
	return text{
		title:     "European Union, basic record: Regulation (EC) No 1107/2009, Article 67(1)",
		keepYears: 3,
		notes: []string{
			"Professional users keep these records for at least three years and give them to the authority when asked (Article 67(1)).",
			"Great Britain kept this article in its own law when it left the Union (from memory): the rules there decide.",
		},
		concerned: aboutProtection,
		of:        protects,
		asks: []ask{
			{id: ProductName, words: "name of the plant protection product", source: in67(quote67), ofProduct: true},
			{id: Date, words: "time of application", source: in67(quote67)},
			{id: Dose, words: "dose applied", source: in67(quote67), ofProduct: true},
			{id: Area, words: "area treated", source: in67(quote67)},
			{id: Place, words: "where the area is", source: in67(quote67)},
			{id: Crop, words: "crop on which it was used", source: in67(quote67)},
		},
	}
}

// records564 asks for what the Annex spells out.
func records564() text {
	return text{
		title:      "European Union, uses from 1 January 2026: Article 67(1) with Implementing Regulation (EU) 2023/564",
		recordDays: 30,
		keepYears:  3,
		notes: []string{
			"Each use is recorded without undue delay; a record not made in a machine-readable electronic format is put into one within 30 days (Article 3, read in German). The day given here is that one.",
			"Member states may set a shorter time, or for uses before 2030 a longer one, up to 31 January of the year after the use (Article 3, read in German).",
			"Member states may let uses up to 31 December 2026 stay in another format ((EU) 2025/2203, read in summaries).",
			"Member states may ask for more than this list (Article 1(4), read in German).",
			"Records are kept for at least three years (Regulation (EC) No 1107/2009, Article 67(1)).",
		},
		concerned: func(op Operation) (Answer, string) {
			answer, why := aboutProtection(op)
			if answer == No {
				return No, why
			}
			switch before(op, recordsFrom) {
			case Yes:
				return No, "the work was before 1 January 2026: Article 67(1) alone is about it"
			case Unsaid:
				return Unsaid, why + "; nothing says when the work was done, and the regulation is about uses from 1 January 2026"
			default:
				return answer, why
			}
		},
		of: protects,
		asks: []ask{
			{id: UseKind, words: "kind of use", source: inAnnex("type of use",
				"treatment of surface areas, treatment of or in closed spaces, treatment of seeds or plant reproductive material", readTime)},
			{id: ProductName, words: "name of the plant protection product", source: inAnnex("product", "", readAnnex), ofProduct: true},
			{id: Registration, words: "authorisation number of the product", source: inAnnex("product", "", readAnnex), ofProduct: true},
			{id: Date, words: "date of the use", source: inAnnex("time", "Date and where relevant start time (hour)", readTime)},
			{
				id: StartTime, words: "time at which it began", source: inAnnex("time", "Date and where relevant start time (hour)", readTime), ofProduct: true,
				when:   "on surface areas, when the use of the product is restricted to times of the day or the time matters (footnote 4)",
				needed: timeMatters,
			},
			{id: Dose, words: "dose per unit treated", source: inAnnex("dose", "", readAnnex), ofProduct: true},
			{id: Place, words: "which parcel or unit was treated, as in the geospatial aid application or by the member state's other method",
				source: inAnnex("location or identification of the unit treated", "", "Article 1(2) read in German and Italian; the column from summaries. Recheck in CELEX 32023R0564")},
			{id: Area, words: "size of what was treated", source: inAnnex("size of the unit treated", "", readAnnex)},
			{id: Crop, words: "crop, situation or land use", source: inAnnex("crop or situation/land use", "Crop or situation/land use", readStage)},
			{
				id: CropCode, words: "crop named by its EPPO code", source: Source{Act: "Implementing Regulation (EU) 2023/564", Section: "Article 1(3) and Annex, column “crop or situation/land use”",
					Read: "Article 1(3) read in German and Italian: member states give users the common names that belong to EPPO codes. Recheck in CELEX 32023R0564"},
				when:   "where the crop or land use has an EPPO code: fallow and mixtures have none",
				needed: func(Operation, int) Answer { return Unsaid },
			},
			{
				id: GrowthStage, words: "growth stage of the crop (BBCH)", source: inAnnex("crop or situation/land use", "", readStage), ofProduct: true,
				when:   "on surface areas and in closed spaces, when the use of the product is limited to growth stages (footnote 7)",
				needed: stageMatters,
			},
			{
				id: Lot, words: "batch number of the seed or plants that were treated", source: inAnnex("size of the unit treated", "batch number, where applicable", readMemory), ofProduct: true,
				when:   "for the treatment of seeds or plant reproductive material, where there is one",
				needed: func(op Operation, _ int) Answer { return onlyFor(op, UseOnMaterial, Unsaid) },
			},
		},
	}
}

// timeMatters is the answer of the label; another use than of ground needs the date
// alone.
func timeMatters(op Operation, i int) Answer {
	return onlyFor(op, UseGround, op.Products[i].TimeLimited)
}

func stageMatters(op Operation, i int) Answer {
	if op.Use == UseOnMaterial {
		return No
	}
	return op.Products[i].StageLimited
}

// onlyFor is the answer for a use, no for another, and nothing said where the use is
// not known and the answer is not no.
func onlyFor(op Operation, use Use, answer Answer) Answer {
	switch {
	case op.Use == use || answer == No:
		return answer
	case op.Use == UseUnsaid:
		return Unsaid
	default:
		return No
	}
}
