using System.CommandLine;
using System.CommandLine.Parsing;
using PavementWatch.Core.Quantities;
using PavementWatch.Core.Readings;
using PavementWatch.Core.Surfaces;
using PavementWatch.Dashboards.Texts;
using PavementWatch.Server.Gateways;
using PavementWatch.Server.Setup;
using PavementWatch.Server.Spots;

namespace PavementWatch.Server.Commands;

/// <summary>Spots from the command line.</summary>
internal static class SpotCommands
{
    public static Command Create() => new("spot", "Places on the ground.") { List(), Add(), Edit(), Remove() };

    private static Command List()
    {
        var list = new Command("list", "Every spot, in the business's order, and the gateway that measures it.");
        Settings.AddTo(list);
        list.SetAction((parsed, cancellationToken) => ServerParts.UseAsync(
            parsed,
            async (services, _) =>
            {
                var (output, catalogue) = (parsed.InvocationConfiguration.Output, services.GetRequiredService<SpotCatalogue>());
                foreach (var spot in catalogue.All)
                {
                    var gateways = services.GetRequiredService<GatewayCatalogue>().All.Where(g => g.Value.Any(s => s.Id == spot.Id)).Select(g => g.Key.Value).ToList();
                    await output.WriteLineAsync($"{Line(spot)}, {(gateways.Count == 0 ? "no gateway: estimated" : $"gateway {string.Join(", ", gateways)}")}");
                }

                if (catalogue.All.Count == 0)
                    await output.WriteLineAsync("There are no spots yet; add one with: spot add");
                return CommandLine.Done;
            },
            cancellationToken));
        return list;
    }

    private static Command Add()
    {
        var id = Id();
        var fields = new Fields(required: true);
        var add = new Command("add", "Add a spot after the others. A running server watches it within a minute. One that was removed comes back with its readings.") { id };
        fields.AddTo(add);
        Settings.AddTo(add);
        add.SetAction((parsed, cancellationToken) => ServerParts.UseAsync(
            parsed,
            async (services, token) =>
            {
                var (output, error) = (parsed.InvocationConfiguration.Output, parsed.InvocationConfiguration.Error);
                var spot = fields.Of(parsed, new Spot(parsed.GetValue(id), "", SurfaceKind.Unknown, double.NaN, double.NaN, ""));
                if (SpotStore.Fault(spot) is { } fault)
                {
                    await error.WriteLineAsync($"spot: {fault}");
                    return CommandLine.BadUsage;
                }

                if (!await services.GetRequiredService<SpotStore>().AddSpotAsync(spot, token))
                {
                    await error.WriteLineAsync($"spot: there is a spot '{spot.Id}' already; choose another name, or change it with: spot edit {spot.Id}");
                    return CommandLine.Failed;
                }

                await output.WriteLineAsync(Line(spot));
                return CommandLine.Done;
            },
            cancellationToken));
        return add;
    }

    private static Command Edit()
    {
        var id = Id();
        var fields = new Fields(required: false);
        var edit = new Command("edit", "Change what is named of a spot and leave the rest. With another ground or place, fits made before are no longer used.") { id };
        fields.AddTo(edit);
        Settings.AddTo(edit);
        edit.SetAction((parsed, cancellationToken) => ServerParts.UseAsync(
            parsed,
            async (services, token) =>
            {
                var spot = parsed.GetValue(id);
                if (await services.GetRequiredService<SpotStore>().EditSpotAsync(spot, known => fields.Of(parsed, known), token) is { } fault)
                {
                    await parsed.InvocationConfiguration.Error.WriteLineAsync($"spot: {fault}");
                    return CommandLine.Failed;
                }

                await parsed.InvocationConfiguration.Output.WriteLineAsync(Line(services.GetRequiredService<SpotCatalogue>().Find(spot)!));
                return CommandLine.Done;
            },
            cancellationToken));
        return edit;
    }

    private static Command Remove()
    {
        var id = Id();
        var remove = new Command("remove", "Remove a spot from every page and gateway. Its readings, fits, checks and alerts stay; spot add with the same ID brings it back.") { id };
        Settings.AddTo(remove);
        remove.SetAction((parsed, cancellationToken) => ServerParts.UseAsync(
            parsed,
            async (services, token) =>
            {
                var spot = parsed.GetValue(id);
                if (!await services.GetRequiredService<SpotStore>().RemoveSpotAsync(spot, token))
                {
                    await parsed.InvocationConfiguration.Error.WriteLineAsync($"spot: there is no spot '{spot}'; see them with: spot list");
                    return CommandLine.Failed;
                }

                await parsed.InvocationConfiguration.Output.WriteLineAsync($"{spot} is removed. What it measured is kept.");
                return CommandLine.Done;
            },
            cancellationToken));
        return remove;
    }

    private static Argument<SpotId> Id() => new("ID")
    {
        Description = "Its name on the wire: a-z, 0-9 and '-', e.g. north-gate-plaza.",
        CustomParser = result =>
        {
            if (!SpotId.TryParse(Parsing.Text(result), out var spot))
                result.AddError($"spot: '{Parsing.Text(result)}' is not a name, expected 1 to {SpotId.MaxLength} of a-z, 0-9 and '-', beginning with a letter or digit");
            return spot;
        },
    };

    private static string Line(Spot spot) => $"{spot.Id}: {spot.Name}, {SurfaceKinds.Slug(spot.Surface)}, too hot from {Temperatures.InSentence(spot.LimitCelsius, TemperatureUnit.Both)}"
        + (spot.ColdLimitCelsius is { } cold ? $", too cold at {Temperatures.InSentence(cold, TemperatureUnit.Both)} and below" : "");

    /// <summary>What can be said of a spot; what is not said stays.</summary>
    private sealed class Fields(bool required)
    {
        private readonly Option<string> _name = new("--name") { Description = "Its name for people, e.g. \"North Gate plaza\".", HelpName = "NAME", Required = required };
        private readonly Option<SurfaceKind> _surface = Optional(Parsing.Surface(), required);
        private readonly Option<double> _latitude = Optional(Parsing.Degrees("--latitude", "North positive", QuantityRanges.Latitude), required);
        private readonly Option<double> _longitude = Optional(Parsing.Degrees("--longitude", "East positive", QuantityRanges.Longitude), required);
        private readonly Option<string> _zone = new("--time-zone") { Description = "IANA name of the time zone it lies in, e.g. America/Chicago.", HelpName = "ZONE", Required = required };
        private readonly Option<string> _site = new("--site") { Description = "The place walkers think of, e.g. \"North Gate\"; its spots lend each other their air.", HelpName = "NAME" };
        private readonly Option<double?> _limit = Parsing.Number("--limit", $"From here it is too hot; {Spot.DefaultLimitCelsius} °C unless given", "CELSIUS", QuantityRanges.Limit);
        private readonly Option<double?> _coldLimit = Parsing.Number("--cold-limit", "At and under this walkers are told of the cold; Watch:ColdLimitCelsius unless given", "CELSIUS", QuantityRanges.ColdLimit);
        private readonly Option<bool> _noColdLimit = new("--no-cold-limit") { Description = "Take its own cold limit away: Watch:ColdLimitCelsius holds again." };
        private readonly Option<double?> _emissivity = Parsing.Number("--emissivity", "Of this very surface; the kind's unless given", "FRACTION", QuantityRanges.SurfaceEmissivity);
        private readonly Option<double?> _radius = Parsing.Number("--radius", $"How near a walker must be to hear of it; {Spot.DefaultRadiusMeters} m unless given", "METERS", QuantityRanges.Radius);

        public void AddTo(Command command)
        {
            foreach (var option in new Option[] { _name, _surface, _latitude, _longitude, _zone, _site, _limit, _coldLimit, _noColdLimit, _emissivity, _radius })
                command.Options.Add(option);
        }

        public Spot Of(ParseResult parsed, Spot spot) => spot with
        {
            Name = parsed.GetValue(_name) ?? spot.Name,
            Surface = Given(parsed, _surface) ? parsed.GetValue(_surface) : spot.Surface,
            LatitudeDegrees = Given(parsed, _latitude) ? parsed.GetValue(_latitude) : spot.LatitudeDegrees,
            LongitudeDegrees = Given(parsed, _longitude) ? parsed.GetValue(_longitude) : spot.LongitudeDegrees,
            TimeZoneId = parsed.GetValue(_zone) ?? spot.TimeZoneId,
            Site = parsed.GetValue(_site) ?? spot.Site,
            LimitCelsius = parsed.GetValue(_limit) ?? spot.LimitCelsius,
            ColdLimitCelsius = parsed.GetValue(_coldLimit) ?? (parsed.GetValue(_noColdLimit) ? null : spot.ColdLimitCelsius),
            EmissivityFraction = parsed.GetValue(_emissivity) ?? spot.EmissivityFraction,
            RadiusMeters = parsed.GetValue(_radius) ?? spot.RadiusMeters,
        };

        private static bool Given(ParseResult parsed, Option option) => parsed.GetResult(option) is OptionResult { Implicit: false };

        private static Option<T> Optional<T>(Option<T> option, bool required)
        {
            option.Required = required;
            return option;
        }
    }
}
