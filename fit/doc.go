// Package fit finds parameters by least squares, linear (Householder QR) and not
// (Levenberg-Marquardt on the same QR), each with the covariance of the solution. Beside them
// what survives outliers: median and MAD.
//
// Data and parameters have the caller's units; nothing is converted. A design matrix has
// one row per observation and one column per parameter. Standard deviations of the data
// may be given (Sigma: the covariance is then absolute) or left to the residuals.
//
// The package draws no random numbers and knows no model of a launch.
package fit
