namespace PavementWatch.Core.Sun;

/// <summary>The sun over one place at the middles of steps, kept from one time it is asked to the next: each minute nearly the same steps are asked for.</summary>
/// <remarks>Holds the steps asked for last, and of those before only what joins them. Safe for several threads.</remarks>
public sealed class SunPath
{
    private volatile Steps? _kept;

    /// <summary>The sun in the middle of some steps one after another.</summary>
    /// <param name="latitudeDegrees">[°] North positive; −90 to 90 inclusive.</param>
    /// <param name="longitudeDegrees">[°] East positive; −180 to 180 inclusive.</param>
    /// <param name="firstEndTicks">End of the first step, UTC ticks.</param>
    /// <param name="stepTicks">Length of a step.</param>
    /// <param name="elevationDegrees">[°] Takes the sun's elevation; as many steps as it holds are looked at.</param>
    /// <param name="clearWattsPerSquareMeter">[W/m²] Takes the sunshine of a clear sky; as long.</param>
    /// <param name="solarHours">[h] Takes the true solar time, 0 to 24; as long.</param>
    /// <exception cref="ArgumentOutOfRangeException">An angle is not a number or outside its range.</exception>
    public void Along(
        double latitudeDegrees, double longitudeDegrees, long firstEndTicks, long stepTicks,
        Span<double> elevationDegrees, Span<double> clearWattsPerSquareMeter, Span<double> solarHours)
    {
        var asked = new Steps(latitudeDegrees, longitudeDegrees, firstEndTicks, stepTicks, elevationDegrees.Length);
        var kept = _kept;
        if (kept is null || !kept.Holds(asked))
            _kept = kept = kept is not null && kept.Joins(asked) ? asked.JoinedTo(kept) : asked.Looked();
        var at = (int)((firstEndTicks - kept.FirstEndTicks) / stepTicks);
        kept.Elevation.AsSpan(at, elevationDegrees.Length).CopyTo(elevationDegrees);
        kept.Clear.AsSpan(at, elevationDegrees.Length).CopyTo(clearWattsPerSquareMeter);
        kept.Hour.AsSpan(at, elevationDegrees.Length).CopyTo(solarHours);
    }

    /// <summary>Steps one after another. Not changed once they are looked at.</summary>
    private sealed record Steps(double Latitude, double Longitude, long FirstEndTicks, long StepTicks, int Count)
    {
        public double[] Elevation { get; private init; } = [];

        public double[] Clear { get; private init; } = [];

        public double[] Hour { get; private init; } = [];

        private long LastEndTicks => FirstEndTicks + (Count - 1) * StepTicks;

        public bool Holds(Steps asked) => IsAlike(asked) && asked.FirstEndTicks >= FirstEndTicks && asked.LastEndTicks <= LastEndTicks;

        public bool Joins(Steps asked) =>
            IsAlike(asked) && asked.FirstEndTicks >= FirstEndTicks && asked.FirstEndTicks <= LastEndTicks + StepTicks;

        public Steps Looked() => Looked(null);

        /// <summary>These and what was looked at before from their first on; that may reach further.</summary>
        public Steps JoinedTo(Steps before) => (this with { Count = (int)((Math.Max(LastEndTicks, before.LastEndTicks) - FirstEndTicks) / StepTicks) + 1 }).Looked(before);

        private Steps Looked(Steps? before)
        {
            var looked = this with { Elevation = new double[Count], Clear = new double[Count], Hour = new double[Count] };
            var known = 0;
            if (before is not null)
            {
                var from = (int)((FirstEndTicks - before.FirstEndTicks) / StepTicks);
                known = before.Count - from;
                before.Elevation.AsSpan(from).CopyTo(looked.Elevation);
                before.Clear.AsSpan(from).CopyTo(looked.Clear);
                before.Hour.AsSpan(from).CopyTo(looked.Hour);
            }

            for (var i = known; i < Count; i++)
            {
                var middle = new DateTimeOffset(FirstEndTicks + i * StepTicks - StepTicks / 2, TimeSpan.Zero);
                var sun = SolarPosition.At(middle, Latitude, Longitude);
                looked.Elevation[i] = sun.ElevationDegrees;
                looked.Clear[i] = ClearSky.GlobalWattsPerSquareMeter(sun.ElevationDegrees);
                looked.Hour[i] = (sun.HourAngleDegrees / 15 + 36) % 24;
            }

            return looked;
        }

        // By their bits: of a place that is not a number nothing is kept.
        private bool IsAlike(Steps asked) =>
            asked.Latitude == Latitude && asked.Longitude == Longitude && asked.StepTicks == StepTicks
            && (asked.FirstEndTicks - FirstEndTicks) % StepTicks == 0;
    }
}
