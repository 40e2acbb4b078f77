namespace PavementWatch.Core.Offsets;

/// <summary>An estimate and what it looked at besides air and humidity.</summary>
/// <param name="Value">The estimate.</param>
/// <param name="Inputs">Wind, sun, both or neither.</param>
public readonly record struct InformedEstimate(SurfaceEstimate Value, OffsetInputs Inputs);
