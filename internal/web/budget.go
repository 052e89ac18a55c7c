package web

import "boretight/internal/trial"

// budgetView is what an uncertainty is made of, as bars.
type budgetView struct {
	Lines []budgetLine // the largest first
	Rest  string       // share of all lines too small to be shown; empty when there are none
	First string       // the source to work on first, and
	Do    string       // what to do about it; both empty when nothing is worth it
}

// budgetLine is one source of doubt.
type budgetLine struct {
	Source string
	Share  string // of the variance
	U      string // standard uncertainty that it contributes, of the result
	Width  string // of its bar, of 100
}

// smallestShare of the variance that gets a bar of its own.
const smallestShare = 0.005

// budgetOf makes bars of a budget; nil when there is none.
func budgetOf(all []trial.Improvement) *budgetView {
	if len(all) == 0 {
		return nil
	}
	var view budgetView
	var rest float64
	for _, i := range all {
		if i.Share < smallestShare {
			rest += i.Share
			continue
		}
		view.Lines = append(view.Lines, budgetLine{
			Source: i.Source, Share: percent(i.Share), U: percent(i.URelative), Width: fixed(100*i.Share, 1),
		})
	}
	if rest > 0 {
		view.Rest = percent(rest)
	}
	if all[0].Gain >= trial.Worthwhile {
		view.First, view.Do = all[0].Source, all[0].Do
	}
	return &view
}

// titledBudget is a budget with what it is of.
type titledBudget struct {
	Title  string
	Budget *budgetView
}

// budgetsOf are the budgets shown beside a list: of its newest hold and, where it
// combines several, of the trial.
func budgetsOf(v holdsView) []titledBudget {
	var all []titledBudget
	if last := v.last(); last != nil && last.Budget != nil {
		all = append(all, titledBudget{"What the last hold’s uncertainty is made of", last.Budget})
	}
	if t := v.Trial; t != nil && t.Used > 1 && t.Budget != nil {
		all = append(all, titledBudget{"What the trial’s uncertainty is made of", t.Budget})
	}
	return all
}
