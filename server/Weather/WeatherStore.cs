using System.Collections.Concurrent;
using Microsoft.EntityFrameworkCore;
using PavementWatch.Server.Database;
using PavementWatch.Server.Spots;

namespace PavementWatch.Server.Weather;

/// <summary>Where weather belongs and what it is.</summary>
/// <param name="Site">A site's name; empty for the whole business.</param>
/// <param name="Kind">Observed or forecast.</param>
/// <param name="IssuedAt">When a forecast was made; of what was observed it is not looked at.</param>
internal sealed record WeatherOrigin(string Site, WeatherKind Kind, DateTimeOffset IssuedAt);

/// <summary>What became of rows.</summary>
/// <param name="Read">How many there were.</param>
/// <param name="Added">Times that were new.</param>
/// <param name="Changed">Times whose values are others now.</param>
/// <param name="Kept">Times that stay as they were: the same values, or a forecast older than the one there.</param>
internal sealed record WeatherStored(int Read, int Added, int Changed, int Kept);

/// <summary>
/// Weather that spots' own probes do not measure. A newer issue of a forecast takes an older one's place for the same
/// time. Forecasts are removed two days after their time; what was observed is kept for <c>Weather:Keep</c>.
/// </summary>
internal sealed class WeatherStore(IDbContextFactory<RegistryDb> registry, SpotCatalogue catalogue, TimeProvider time) : IDisposable
{
    /// <summary>How long a forecast stays after its time: it fills in where observations come late.</summary>
    public static readonly TimeSpan ForecastStays = TimeSpan.FromDays(2);

    /// <summary>How far ahead a forecast may reach.</summary>
    public static readonly TimeSpan FurthestAhead = TimeSpan.FromDays(16);

    private const int PerBatch = 2000;
    private static readonly TimeSpan RecentReach = TimeSpan.FromDays(4);
    private static readonly TimeSpan ClockSlack = TimeSpan.FromHours(1);

    private readonly ConcurrentDictionary<string, PlaceWeather> _recent = [];

    private readonly SemaphoreSlim _oneLook = new(1);

    // When the newest row was written, at the last look.
    private DateTimeOffset? _seen;
    private long _edition;

    public void Dispose() => _oneLook.Dispose();

    /// <summary>The site as its spots name it, whatever its case; <c>null</c> when no spot has it. Empty is the whole business.</summary>
    public string? FindSite(string? name) => string.IsNullOrEmpty(name)
        ? ""
        : Sites.FirstOrDefault(s => s.Equals(name, StringComparison.OrdinalIgnoreCase));

    /// <summary>The sites there are.</summary>
    public IReadOnlyList<string> Sites => [.. catalogue.All.Select(s => s.Site).Where(s => s.Length > 0).Distinct()];

    /// <summary>What keeps rows from being what they are said to be; <c>null</c> when nothing does.</summary>
    public WeatherFault? Fault(WeatherOrigin origin, IReadOnlyList<WeatherValues> rows)
    {
        var now = time.GetUtcNow();
        var last = rows[^1].At;
        if (origin.Kind == WeatherKind.Observed)
        {
            return last <= now + ClockSlack ? null : new WeatherFault(
                "time_utc", $"{last:u}", $"nothing after {now:u}", "say that it is a forecast, or look at the clock that wrote it");
        }

        if (origin.IssuedAt > now + ClockSlack)
            return new WeatherFault("issued", $"{origin.IssuedAt:u}", $"a moment up to now, {now:u}", "give the time at which the forecast was made, with its zone");
        if (last > origin.IssuedAt + FurthestAhead)
            return new WeatherFault("time_utc", $"{last:u}", $"at most {FurthestAhead.TotalDays:0} days after the issue at {origin.IssuedAt:u}", "cut the rest off, or give the issue its own time");
        return rows.Any(r => r.AirCelsius is not null) ? null : new WeatherFault(
            WeatherFields.Air.Column, "no value", "air in a forecast", "add the column");
    }

    /// <summary>Writes rows down, all or none. They must be in time order and without <see cref="Fault"/>.</summary>
    public async Task<WeatherStored> StoreAsync(
        WeatherOrigin origin, IReadOnlyList<WeatherValues> rows, CancellationToken cancellationToken)
    {
        var (added, changed) = (0, 0);
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var now = await LaterThanAllAsync(db, cancellationToken);
        foreach (var batch in rows.Chunk(PerBatch))
        {
            var (first, last) = (batch[0].At, batch[^1].At);
            var there = await db.Weather
                .Where(w => w.Site == origin.Site && w.Kind == origin.Kind && w.At >= first && w.At <= last)
                .ToDictionaryAsync(w => w.At, cancellationToken);
            foreach (var row in batch)
            {
                if (!there.TryGetValue(row.At, out var known))
                {
                    known = new WeatherRow { Site = origin.Site, Kind = origin.Kind, At = row.At, StoredAt = now };
                    Put(known, origin, row);
                    db.Weather.Add(known);
                    added++;
                }
                else if (Put(known, origin, row))
                {
                    known.StoredAt = now;
                    changed++;
                }
            }

            await db.SaveChangesAsync(cancellationToken);
            db.ChangeTracker.Clear();
        }

        await transaction.CommitAsync(cancellationToken);
        await RefreshAsync(cancellationToken);
        return new WeatherStored(rows.Count, added, changed, rows.Count - added - changed);
    }

    /// <summary>What is known of a site and, where it says nothing, of the whole business in a span, both ends included.</summary>
    public async Task<PlaceWeather> LoadAsync(string site, DateTimeOffset from, DateTimeOffset to, CancellationToken cancellationToken)
    {
        var (first, last) = (from - WeatherSeries.LongestGap, to + WeatherSeries.LongestGap);
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        return PlaceWeather.Of(site, await db.Weather.AsNoTracking()
            .Where(w => (w.Site == site || w.Site == "") && w.At >= first && w.At <= last)
            .OrderBy(w => w.At).ToListAsync(cancellationToken), PositionOf(site));
    }

    /// <summary>Goes up whenever there was something new; read it before the weather.</summary>
    public long Edition => Interlocked.Read(ref _edition);

    /// <summary>The last days and what is forecast, from memory, for those who ask each minute.</summary>
    public PlaceWeather Recent(string site) =>
        _recent.GetValueOrDefault(site) ?? _recent.GetValueOrDefault("") ?? PlaceWeather.None;

    /// <summary>What <see cref="Recent"/> has of each place that it has rows of.</summary>
    public IReadOnlyList<PlaceWeather> AllRecent => [.. _recent.Values];

    /// <summary>Takes over what is new; another process may have written.</summary>
    public async Task RefreshAsync(CancellationToken cancellationToken)
    {
        // One at a time: what was read earlier must not take the place of what was read later.
        await _oneLook.WaitAsync(cancellationToken);
        try
        {
            await using var db = await registry.CreateDbContextAsync(cancellationToken);
            // Asked each minute, of however many rows.
            var seen = await NewestAsync(db, cancellationToken);
            if (seen != _seen)
            {
                await ReadRecentAsync(db, cancellationToken);
                Interlocked.Increment(ref _edition);
            }

            _seen = seen;
        }
        finally
        {
            _oneLook.Release();
        }
    }

    /// <summary>Removes what is kept no longer.</summary>
    /// <param name="keep">How long observed weather is kept.</param>
    /// <param name="cancellationToken">Stops.</param>
    /// <returns>How many rows went.</returns>
    public async Task<int> PruneAsync(TimeSpan keep, CancellationToken cancellationToken)
    {
        var now = time.GetUtcNow();
        var (observedFrom, forecastFrom) = (now - keep, now - ForecastStays);
        await using var db = await registry.CreateDbContextAsync(cancellationToken);
        return await db.Weather
            .Where(w => (w.Kind == WeatherKind.Forecast && w.At < forecastFrom) || (w.Kind == WeatherKind.Observed && w.At < observedFrom))
            .ExecuteDeleteAsync(cancellationToken);
    }

    // The spots of a site stand near each other.
    private (double Latitude, double Longitude)? PositionOf(string site) =>
        (catalogue.All.FirstOrDefault(s => s.Site == site) ?? (catalogue.All.Count > 0 ? catalogue.All[0] : null)) is { } spot
            ? (spot.LatitudeDegrees, spot.LongitudeDegrees) : null;

    private static Task<DateTimeOffset?> NewestAsync(RegistryDb db, CancellationToken cancellationToken) =>
        db.Weather.MaxAsync(w => (DateTimeOffset?)w.StoredAt, cancellationToken);

    // What is written later is dated later, whatever the clock says: by that alone others see that there is something new.
    private async Task<DateTimeOffset> LaterThanAllAsync(RegistryDb db, CancellationToken cancellationToken)
    {
        var now = DateTimeOffset.FromUnixTimeMilliseconds(time.GetUtcNow().ToUnixTimeMilliseconds());
        return await NewestAsync(db, cancellationToken) is { } newest && newest >= now ? newest.AddMilliseconds(1) : now;
    }

    private async Task ReadRecentAsync(RegistryDb db, CancellationToken cancellationToken)
    {
        var from = time.GetUtcNow() - RecentReach;
        var rows = await db.Weather.AsNoTracking().Where(w => w.At >= from).OrderBy(w => w.At).ToListAsync(cancellationToken);
        foreach (var site in rows.Select(r => r.Site).Concat(_recent.Keys).Append("").Distinct().ToList())
            _recent[site] = PlaceWeather.Of(site, [.. rows.Where(r => r.Site == site || r.Site.Length == 0)], PositionOf(site));
    }

    /// <summary>Observed values complete a row; a forecast's newer issue is the whole row.</summary>
    /// <returns>Whether anything is different now.</returns>
    private static bool Put(WeatherRow row, WeatherOrigin origin, WeatherValues values)
    {
        var before = (row.IssuedAt, row.AirCelsius, row.HumidityPercent, row.WindMetersPerSecond, row.SolarWattsPerSquareMeter, row.RainMillimeters);
        if (origin.Kind == WeatherKind.Forecast)
        {
            if (row.IssuedAt > origin.IssuedAt)
                return false;
            row.IssuedAt = origin.IssuedAt;
        }

        var whole = origin.Kind == WeatherKind.Forecast;
        row.AirCelsius = values.AirCelsius ?? (whole ? null : row.AirCelsius);
        row.HumidityPercent = values.HumidityPercent ?? (whole ? null : row.HumidityPercent);
        row.WindMetersPerSecond = values.WindMetersPerSecond ?? (whole ? null : row.WindMetersPerSecond);
        row.SolarWattsPerSquareMeter = values.SolarWattsPerSquareMeter ?? (whole ? null : row.SolarWattsPerSquareMeter);
        row.RainMillimeters = values.RainMillimeters ?? (whole ? null : row.RainMillimeters);
        return before != (row.IssuedAt, row.AirCelsius, row.HumidityPercent, row.WindMetersPerSecond, row.SolarWattsPerSquareMeter, row.RainMillimeters);
    }
}
