namespace PavementWatch.Core.Wire;

/// <summary>One pack of several, when readings do not fit in one.</summary>
/// <param name="Payload">The pack, at most the size asked for.</param>
/// <param name="First">Index of its first reading in the list that was split.</param>
/// <param name="Count">How many readings it holds; at least 1.</param>
public sealed record ReadingPackSlice(ReadOnlyMemory<byte> Payload, int First, int Count);
