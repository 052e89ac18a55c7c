package air

// ViscosityAt is the viscosity in Pa·s at a density in mol/dm³.
var ViscosityAt = viscosity
