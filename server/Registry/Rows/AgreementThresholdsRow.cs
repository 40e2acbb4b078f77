namespace PavementWatch.Server.Registry.Rows;

/// <summary>What the analyst asks of a method; each setting is a row of its own, the newest rules.</summary>
internal sealed class AgreementThresholdsRow
{
    public int Id { get; init; }

    public required int LeastPairs { get; init; }

    public required double MostBiasKelvin { get; init; }

    public required double MostDifferenceKelvin { get; init; }

    public required double LeastSpanKelvin { get; init; }

    public required DateTimeOffset SetAt { get; init; }

    public required string PersonName { get; init; }
}
