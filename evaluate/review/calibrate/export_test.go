package calibrate

var AndersonDarlingCDF = andersonDarlingCDF
