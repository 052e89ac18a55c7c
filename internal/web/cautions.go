package web

// caution is something that can hurt a person or an instrument, said where it matters.
type caution struct {
	Short  string // in one line, for the bench
	Long   string // with the reason
	Source string // "common practice, no source" where there is none
}

// cautions are what the page of cautions says, most pressing first.
var cautions = []caution{
	{Short: "No mouth suction: use a pump or a syringe."},
	{Short: "Start low, and stay under 6 kPa."},
	{Short: "Never shop air."},
	{Short: "Stop if a pad, key or joint moves or creaks."},
	{Short: "Wood cracks with fast changes of warmth and humidity."},
	{Short: "Mind solvents and heat near old materials."},
	{Short: "Follow the maker’s instructions, local codes and qualified people."},
}
