// Package complete tells what a record of an application of plant protection
// products has to state, and what of that is there. It knows four published texts:
//
//   - Article 67(1) of Regulation (EC) No 1107/2009, alone;
//
//   - the same with the Annex of Commission Implementing Regulation (EU) 2023/564;
//
//   - 7 CFR 110.3, the federal rule of the United States until 2025-07-11;
//
//   - 40 CFR 171.303(b)(7)(vi), what states ask of commercial applicators there.
//
//     for _, list := range complete.All(op) {
//     if list.Concerned != complete.No {
//     show(list)
//     }
//     }
//
// It counts what forms ask for and gives no advice: which text binds whom, and what
// else has to be written down, is decided by the label, by local rules and by a
// licensed person. drawbar holds no label database; what it knows of a label a
// person copied. Where a wording was not read in the text itself, the source says
// so and what to look up again. Every function is pure.
package complete

// Caution goes with every list that is shown.
const Caution = "This compares the record with the wording of published rules. It is not legal advice: the product label, " +
	"the rules where you farm and a licensed person decide what you must write down. drawbar holds no label database."
