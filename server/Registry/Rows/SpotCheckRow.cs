namespace PavementWatch.Server.Registry.Rows;

/// <summary>A hand-held thermometer reading at a spot.</summary>
internal sealed class SpotCheckRow
{
    public int Id { get; init; }

    public required string SpotId { get; init; }

    public required DateTimeOffset At { get; init; }

    public required double SurfaceCelsius { get; init; }

    public int? PersonId { get; init; }

    /// <summary>What it was measured with.</summary>
    public string Instrument { get; init; } = "";

    public string Note { get; init; } = "";
}
