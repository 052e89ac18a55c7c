package main

// cli is the command line: one field a command, each in its own file.
type cli struct {
	Demo       demoCmd       `cmd:"" help:"Serve a simulated bench, to look around without a gauge."`
	Serve      serveCmd      `cmd:"" help:"Serve a bench: the page, the API and the ledger."`
	Hold       holdCmd       `cmd:"" help:"Wait for holds on a gauge and print each one's result."`
	Fit        fitCmd        `cmd:"" help:"Fit the holds in trace files."`
	Calibrate  calibrateCmd  `cmd:"" help:"Calibrate a gauge against a water column or a reference gauge."`
	Rig        rigCmd        `cmd:"" help:"Measure the rig: blank, volume, check, proof."`
	Ports      portsCmd      `cmd:"" help:"List where a gauge may be found."`
	Sim        simCmd        `cmd:"" help:"Make a serial port with a simulated gauge behind it."`
	Holds      holdsCmd      `cmd:"" help:"List the holds in a ledger."`
	Void       voidCmd       `cmd:"" help:"Set a hold aside, with a reason; its trial is judged again."`
	Ticket     ticketCmd     `cmd:"" help:"Open, list, show, work on and close tickets: visits of instruments."`
	Trials     trialsCmd     `cmd:"" help:"List the trials in a ledger."`
	Compare    compareCmd    `cmd:"" help:"Set a joint as found against the same as left."`
	Limit      limitCmd      `cmd:"" help:"Set, list and propose limits of joints."`
	Catalog    catalogCmd    `cmd:"" help:"List and show instruments: joints, bores and seats."`
	Check      checkCmd      `cmd:"" help:"Audit a ledger."`
	Export     exportCmd     `cmd:"" help:"Print a hold of the ledger as a trace file."`
	Ledger     ledgerCmd     `cmd:"" help:"Copy a ledger, or put a copy in its place."`
	Version    versionCmd    `cmd:"" help:"Print the version, or the licences of what is built in."`
	Completion completionCmd `cmd:"" help:"Print the code that makes a shell complete commands."`
}
