using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace PavementWatch.Server.Weather;

/// <summary>Whether weather was or is expected.</summary>
internal enum WeatherKind
{
    /// <summary>Measured by somebody's station.</summary>
    Observed = 0,

    /// <summary>Said beforehand.</summary>
    Forecast,
}

/// <summary>Weather at a place that a spot's own probes do not measure; one row for each place, kind and time.</summary>
internal sealed class WeatherRow
{
    /// <summary>The site, as its spots name it; empty for the whole business.</summary>
    public required string Site { get; init; }

    public required WeatherKind Kind { get; init; }

    /// <summary>End of the interval that the values are means of, and rain the sum.</summary>
    public required DateTimeOffset At { get; init; }

    /// <summary>When a forecast was made; <c>null</c> for what was observed.</summary>
    public DateTimeOffset? IssuedAt { get; set; }

    public double? AirCelsius { get; set; }

    public double? HumidityPercent { get; set; }

    public double? WindMetersPerSecond { get; set; }

    /// <summary>[W/m²] Global irradiance on level ground.</summary>
    public double? SolarWattsPerSquareMeter { get; set; }

    /// <summary>[mm] Rain that fell in the interval.</summary>
    public double? RainMillimeters { get; set; }

    /// <summary>When it was written or changed; tells a running server that there is something new.</summary>
    public required DateTimeOffset StoredAt { get; set; }
}

internal sealed class WeatherRowConfiguration : IEntityTypeConfiguration<WeatherRow>
{
    public void Configure(EntityTypeBuilder<WeatherRow> builder)
    {
        builder.ToTable("Weather");
        builder.HasKey(w => new { w.Site, w.Kind, w.At });
        builder.HasIndex(w => w.StoredAt);
    }
}
