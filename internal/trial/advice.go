package trial

// advice is what a repairer can do about a source of doubt.
func advice(source string) string {
	switch source {
	case sourceVolume:
		return "measure the volume by a syringe step or a reference leak"
	case sourceSpan:
		return "calibrate the gauge against a water column"
	case sourceRig:
		return "measure a longer blank, or make the rig tighter"
	case sourceHeat:
		return "tell the bore, draw more slowly, or hold longer"
	case sourceLaw:
		return "hold until the pressure has fallen by a third, through the stated difference"
	case sourceCreep:
		return "hold longer, so that pads and hose have given way"
	case sourceAirDrift:
		return "let joint and room come to one temperature; keep hands and lamps away"
	case sourceZero:
		return "rest longer before the draw and after the vent"
	case sourceKnock:
		return "measure more holds, and leave bench and instrument alone meanwhile"
	case sourceNoise:
		return "hold longer, or measure more holds"
	case sourceHolds:
		return "measure more holds, and keep hose, keys and fingers alike"
	case sourceReplug:
		return "plug again and measure more; look at the stoppers"
	}
	return "know the " + source + " better"
}
