package bench

import (
	"strings"

	"boretight/internal/trial"
)

// rigParts are the parts of a rig's name for trials, and what it means that they differ.
var rigParts = [...]struct{ name, differs string }{
	{"gauge ", "another gauge was used"},
	{"hose ", "another hose was used"},
	{"stoppers ", "other stoppers were used"},
	{"valve ", "another valve was used"},
	{"calibration ", "the gauge was calibrated in between"},
	{"blank ", "a blank was measured in between"},
}

// unlikeRig says in words how a rig or its state changed between two holds that are alike
// else; empty where they differ in more, or in nothing.
func unlikeRig(before, now trial.Member) string {
	same := now
	same.Rig = before.Rig
	if trial.Alike(before, same) != nil {
		return ""
	}
	var texts []string
	for _, p := range rigParts {
		switch value := rigPart(now.Rig, p.name); {
		case value == rigPart(before.Rig, p.name):
		case value == "":
			texts = append(texts, "the "+strings.TrimSpace(p.name)+" of before no longer counts")
		default:
			texts = append(texts, p.differs)
		}
	}
	return strings.Join(texts, " and ")
}

// rigPart is what a rig's name says behind a word; empty without that word.
func rigPart(rig, word string) string {
	for part := range strings.SplitSeq(rig, ", ") {
		if value, ok := strings.CutPrefix(part, word); ok {
			return value
		}
	}
	return ""
}
