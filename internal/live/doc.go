// Package live is the published picture of a running session: what the core
// hands to everyone who shows it. A State is made whole, published once and never
// changed, so that readers neither lock nor wait.
//
//	core --Publish(State)--> Hub --Read-------> metrics, /api
//	     --Tell(Notice)----> Hub --Subscribe--> /events, one Subscription a reader
//
// A State replaces the one before: a slow reader misses pictures and loses
// nothing. A Notice (an alarm, a mark) must not be missed: it waits in a buffer of
// stated size, and a reader whose buffer is full is cut off and may come back
// with the number of the last notice it had.
package live
