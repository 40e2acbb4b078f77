
namespace PavementWatch.Server.Weather;

/// <summary>What became of weather somebody sent.</summary>
internal abstract record WeatherReceipt;

/// <summary>It is stored.</summary>
internal sealed record StoredWeather(WeatherOrigin Origin, WeatherStored Stored, IReadOnlyList<string> Remarks) : WeatherReceipt
{
    public override string ToString()
    {
        var whose = Origin.Site.Length > 0 ? Origin.Site : "the whole business";
        var what = Origin.Kind == WeatherKind.Forecast ? $"forecast of {Origin.IssuedAt:yyyy-MM-dd'T'HH:mm'Z'}" : "observed";
        return $"{whose}, {what}: {Stored.Read} times read, {Stored.Added} new, {Stored.Changed} changed, {Stored.Kept} there already";
    }
}

/// <summary>Nothing of it is.</summary>
internal sealed record RefusedWeather(WeatherFault Fault) : WeatherReceipt;

/// <summary>The one way in, whoever brings the weather: reads, checks, stores.</summary>
internal sealed class WeatherIntake(WeatherStore store)
{
    /// <param name="read">What reading the file gave.</param>
    /// <param name="site">Whose weather it is, as <see cref="WeatherStore.FindSite"/> found it.</param>
    /// <param name="kind">What it is, unless it says so itself.</param>
    /// <param name="issuedAt">When a forecast was made, unless it says so itself.</param>
    /// <param name="cancellationToken">Stops.</param>
    public async Task<WeatherReceipt> TakeAsync(
        WeatherFileOutcome read, string site, WeatherKind kind, DateTimeOffset issuedAt, CancellationToken cancellationToken)
    {
        if (read is not WeatherFile file)
            return new RefusedWeather((WeatherFault)read);
        var origin = new WeatherOrigin(site, file.Kind ?? kind, (file.IssuedAt ?? issuedAt).ToUniversalTime());
        if (store.Fault(origin, file.Rows) is { } fault)
            return new RefusedWeather(fault);
        var stored = await store.StoreAsync(origin, file.Rows, cancellationToken);
        return new StoredWeather(origin, stored, [.. file.Remarks, .. Gaps(file.Rows)]);
    }

    /// <summary>JSON where the text begins so, else CSV.</summary>
    public static WeatherFileOutcome Read(TextReader text) =>
        text.Peek() == '{' ? WeatherJson.Read(text.ReadToEnd()) : WeatherCsv.Read(text);

    private static IEnumerable<string> Gaps(IReadOnlyList<WeatherValues> rows)
    {
        var gaps = rows.Zip(rows.Skip(1)).Count(p => p.Second.At - p.First.At > WeatherSeries.LongestGap);
        if (gaps > 0)
            yield return $"{gaps} times the next row is more than {WeatherSeries.LongestGap.TotalHours:0} h later; what lies between is taken as not known";
    }
}
