using Microsoft.Extensions.Options;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Core.Weather;
using PavementWatch.Dashboards.Setup;
using PavementWatch.Server.Estimates;
using PavementWatch.Server.Fitting;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Spots;
using PavementWatch.Server.Store;
using PavementWatch.Server.Watch;

namespace PavementWatch.Server.Setup;

/// <summary>What the business changes on its pages.</summary>
internal sealed class BusinessSetup(
    SpotStore spots,
    GatewayStore gateways,
    FitStore fits,
    SpotCatalogue catalogue,
    GatewayCatalogue gatewayCatalogue,
    EnrolmentCodeStore codes,
    EnrolmentNote note,
    GatewayRights rights,
    SettingsPublisher settings,
    IReadingStore store,
    SpotEstimates ground,
    IOptions<WatchOptions> watch,
    TimeProvider time) : ISetup
{
    public async Task<string?> AddSpotAsync(Spot spot, CancellationToken cancellationToken)
    {
        if (SpotStore.Fault(spot) is { } fault)
            return fault;
        if (!await spots.AddSpotAsync(spot, cancellationToken))
            return $"there is a spot '{spot.Id}' already; choose another name";
        // One that comes back on other ground must not be estimated by what was learned of the old.
        await fits.RefreshAsync(cancellationToken);
        return null;
    }

    public Spot? FindSpot(SpotId spot) => catalogue.Find(spot);

    public Task<string?> SetLimitsAsync(SpotId spot, double limitCelsius, double? coldLimitCelsius, CancellationToken cancellationToken) =>
        EditAsync(spot, known => known with { LimitCelsius = limitCelsius, ColdLimitCelsius = coldLimitCelsius }, cancellationToken);

    public Task<string?> EditSpotAsync(Spot spot, CancellationToken cancellationToken) => EditAsync(spot.Id, _ => spot, cancellationToken);

    public async Task<string?> RemoveSpotAsync(SpotId spot, CancellationToken cancellationToken)
    {
        if (!await spots.RemoveSpotAsync(spot, cancellationToken))
            return $"there is no spot '{spot}'";
        await rights.EnforceAsync(cancellationToken);
        return null;
    }

    public async Task<(IReadOnlyList<string> Moved, string? Fault)> SetGatewaySpotsAsync(
        GatewayId gateway, IReadOnlyList<SpotId> wanted, CancellationToken cancellationToken)
    {
        if (!gatewayCatalogue.All.ContainsKey(gateway))
            return ([], $"there is no gateway '{gateway}'");
        var moved = await gateways.SetSpotsAsync(gateway, wanted, cancellationToken);
        await rights.EnforceAsync(cancellationToken);
        return ([.. moved.Select(spot => spot.ToString())], null);
    }

    public async Task<string?> RemoveGatewayAsync(GatewayId gateway, CancellationToken cancellationToken)
    {
        if (!await gateways.RemoveGatewayAsync(gateway, cancellationToken))
            return $"there is no gateway '{gateway}'";
        await rights.EnforceAsync(cancellationToken);
        return null;
    }

    public async Task<(NewCode? Code, string? Fault)> NewCodeAsync(
        GatewayId gateway, IReadOnlyList<SpotId> wanted, CancellationToken cancellationToken)
    {
        switch (await codes.NewCodeAsync(gateway, wanted, cancellationToken))
        {
            case CodeOutcome.Made made:
                await rights.EnforceAsync(cancellationToken);
                var command = note.Command(made.Code);
                return (new NewCode(made.Code, made.ExpiresAt, command, QrSvg.Of(command), note.Caution()) { Moved = [.. made.Moved.Select(spot => spot.Coming)] }, null);
            case CodeOutcome.Refused(var reason):
                return (null, reason);
            case var other:
                throw new InvalidOperationException($"no such outcome: {other}");
        }
    }

    private async Task<string?> EditAsync(SpotId spot, Func<Spot, Spot> change, CancellationToken cancellationToken)
    {
        if (await spots.EditSpotAsync(spot, change, LimitChanger.Business, cancellationToken) is { } fault)
            return fault;
        await fits.RefreshAsync(cancellationToken);
        await settings.SendAsync(cancellationToken);
        return null;
    }

    public async Task<FirstLook?> LookAsync(SpotId spot, CancellationToken cancellationToken)
    {
        if (catalogue.Find(spot) is not { } place)
            return null;
        // What is dated further ahead says nothing of now, here as on every page.
        var (now, rule) = (time.GetUtcNow(), watch.Value.Rule(place));
        if (await store.LatestAsync(spot, now + rule.Interval, cancellationToken) is not { Reading: var reading })
            return null;
        var look = new FirstLook(reading, now) { IsCurrent = rule.IsCurrent(reading.MeasuredAt, now) };
        var at = reading.MeasuredAt;
        // Without the surface readings: they are what is judged, by the handbook.
        var known = (await ground.WeatherAsync(place, at, at, at, cancellationToken)).Samples.Where(s => s.At < at).ToList();
        if (reading.AirCelsius is { } air)
            known.Add(new WeatherSample(at, air) { HumidityPercent = reading.HumidityPercent });
        if (known.Count == 0 || at - known[^1].At > TimeSpan.FromHours(1))
            return look;
        return SpotEstimates.Unseen(null, place, SpotWeather.Past(known), [at]) is [var estimate] && double.IsFinite(estimate.UpperCelsius)
            ? look with { LowerCelsius = estimate.LowerCelsius, UpperCelsius = estimate.UpperCelsius }
            : look;
    }
}
