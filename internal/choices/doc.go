// Package choices is what a person is offered when work begins or changes, and the
// one operator line that comes of it.
//
//	live.State ──────┐
//	catalog.Around ──┼──> Of ──────> Choices: seasons, plans, products, tanks, people …
//	recent.Book ─────┘       └─────> Suggested, a Request
//	                Request ──Compose──> statement.Operator, its words, what is lacking
//
// What is planned comes first, then what was laid here last, then what was laid
// last, then the rest by name. Nothing is said without a person's touch, and
// whatever is offered may be passed over. The package is pure: no clock, no file.
package choices
