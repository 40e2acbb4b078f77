namespace PavementWatch.Core.Surfaces;

/// <summary>A handbook value with its spread and where it is from.</summary>
/// <param name="Value">The value to use where nothing better is known of the very surface.</param>
/// <param name="Low">Least value found in tables.</param>
/// <param name="High">Greatest value found in tables.</param>
/// <param name="Source">Where they are from; "from memory" and "our choice" are said where they hold.</param>
public sealed record SourcedValue(double Value, double Low, double High, string Source);
