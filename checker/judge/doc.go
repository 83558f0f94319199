// Package judge holds what the trade's rules are to the checker: it loads
// rule files, checks and compiles their CEL against the facts of the bench's
// events, judges events and runs the rules' own examples. It alone knows the
// CEL library; it knows no chemistry: that stands in the rule files and in
// the figures of the events.
//
// A rule has three outcomes. It is met, it is broken, or it cannot tell,
// because a figure it needs is unknown. A rule that fails to evaluate for any
// other reason is reported as unread; nothing is ever silently counted as met.
package judge
