using PavementWatch.Core.Readings;

namespace PavementWatch.Core.Wire;

/// <summary>Makes readings of resolved records and says of each record kept out why.</summary>
internal sealed class ReadingPackReader(DateTimeOffset now)
{
    // 9999-12-31T23:59:59Z, the last second that a date can have here.
    private const double LastUnixSeconds = 253_402_300_799;

    private readonly Dictionary<(SpotId Spot, long Milliseconds), Draft> _drafts = [];
    private readonly List<RefusedRecord> _refused = [];
    private readonly HashSet<(string Spot, double UnixSeconds)> _timeless = [];

    public ReadingPackOutcome.Parsed Read(SenMlOutcome.Parsed parsed)
    {
        foreach (var record in parsed.Records)
            Take(record);
        foreach (var fault in parsed.Faults)
            Take(fault);

        var whole = _drafts.Values.Where(d => !d.Spoilt && d.HasContent).Select(d => d.Reading).ToLookup(IsNear);
        return new(
            [.. whole[true]],
            [.. _refused.OrderBy(r => r.Position)],
            _timeless.Count + _drafts.Values.Count(d => d.Spoilt))
        {
            OtherClock = [.. whole[false]],
        };
    }

    private void Take(SenMlRecord record)
    {
        if (!Sort(record.Position, record.Name, out var spot, out var quantity))
            return;
        if (TimeFault(record.UnixSeconds, record.WasRelative) is { } late)
        {
            _timeless.Add((spot.Value, record.UnixSeconds));
            Refuse(record.Position, record.Name, late.Reason, "t", late.Detail, late.Remedy, spoils: true);
            return;
        }

        var draft = DraftOf(spot, record.UnixSeconds);
        if (quantity is null)
            TakeQuality(record, draft);
        else if (ValueFault(record, quantity, draft) is { } fault)
            Refuse(record.Position, record.Name, fault.Reason, fault.Field, fault.Detail, fault.Remedy, quantity.Spoils, draft);
        else
            draft.Reading = quantity.With(draft.Reading, record.Value!.Value);
    }

    private void Take(SenMlFault fault)
    {
        if (!Sort(fault.Position, fault.Name, out var spot, out var quantity))
            return;
        var reason = fault is { Field: "v", Expected: "a finite number" }
            ? RefusalReason.NotANumber
            : RefusalReason.MalformedRecord;
        var timely = TimeFault(fault.UnixSeconds, fault.WasRelative) is null;
        Refuse(
            fault.Position, fault.Name, reason, fault.Field, $"found {fault.Found}, expected {fault.Expected}",
            "leave out a value that could not be measured", quantity?.Spoils ?? true,
            timely ? DraftOf(spot, fault.UnixSeconds) : null);
    }

    // False when the record is nobody's: refused already. A null quantity is the quality.
    private bool Sort(int position, string name, out SpotId spot, out WireQuantity? quantity)
    {
        quantity = null;
        var slash = name.IndexOf('/');
        if (!SpotId.TryParse(slash < 0 ? name : name[..slash], out spot))
        {
            Refuse(position, name, RefusalReason.BadName, "n", "found no spot's name before the slash",
                $"name it {{spot}}/{{quantity}}, the spot 1 to {SpotId.MaxLength} of a-z, 0-9 and '-'", spoils: false);
            return false;
        }

        var what = slash < 0 ? "" : name[(slash + 1)..];
        quantity = WireQuantity.Find(what);
        if (quantity is not null || what == ReadingPack.QualityName)
            return true;
        Refuse(position, name, RefusalReason.UnknownName, "n",
            $"expected one of {string.Join(", ", WireQuantity.All.Select(q => q.Name))}, {ReadingPack.QualityName}",
            "nothing to do if the gateway is newer than the server", spoils: false);
        return false;
    }

    private static (RefusalReason Reason, string Detail, string Remedy)? TimeFault(double unixSeconds, bool wasRelative)
    {
        const string setClock = "set the sender's clock (timedatectl) and send Unix seconds UTC";
        if (wasRelative || double.IsNaN(unixSeconds))
            return (RefusalReason.TimeNotAbsolute, "found a time below 2^28 s, which counts from \"now\", or none", setClock);
        if (unixSeconds > LastUnixSeconds)
            return (RefusalReason.NoSuchTime, $"found {unixSeconds:R} s, expected at most {LastUnixSeconds:F0} s (the end of the year 9999)", setClock);
        return null;
    }

    private bool IsNear(Reading reading) =>
        reading.MeasuredAt >= now - ReadingPack.MostBehind && reading.MeasuredAt <= now + ReadingPack.MostAhead;

    private static (RefusalReason Reason, string Field, string Detail, string Remedy)? ValueFault(
        SenMlRecord record, WireQuantity quantity, Draft draft)
    {
        if (record.Value is not { } value)
            return (RefusalReason.NotANumber, "v", "found no number", "leave out a value that could not be measured");
        if (record.Unit != quantity.Unit)
        {
            return (RefusalReason.WrongUnit, "u",
                $"found {(record.Unit is { } unit ? $"'{Short(unit)}'" : "no unit")}, expected '{quantity.Unit}'", "send it in that unit");
        }

        if (ReadingRange.FirstFault(quantity.With(new Reading(draft.Reading.Spot, default), value)) is { } fault)
            return (RefusalReason.OutOfRange, "v", fault.ToString(), "look at the sensor and its wiring");
        if (quantity.Get(draft.Reading) is { } first && !first.Equals(value))
            return (RefusalReason.Contradiction, "v", $"found {value} after {first} for the same moment", "send each moment once");
        return null;
    }

    private void TakeQuality(SenMlRecord record, Draft draft)
    {
        var (quality, doubt, unknown) = WireQuality.Parse(record.StringValue ?? "");
        if (quality is { } known)
        {
            // Said twice, the more cautious holds.
            draft.Reading = draft.Reading with
            {
                Quality = known < draft.Reading.Quality ? known : draft.Reading.Quality,
                Doubt = draft.Reading.Doubt | doubt,
            };
            draft.SaysQuality = true;
        }

        if (unknown is not null)
        {
            Refuse(record.Position, record.Name, RefusalReason.UnknownQuality, "vs", $"found '{Short(unknown)}'",
                "nothing to do if the gateway is newer than the server", quality is null, draft);
        }
    }

    private void Refuse(
        int position, string name, RefusalReason reason, string field, string detail, string remedy, bool spoils, Draft? draft = null)
    {
        // The first of two values stays; the second alone is wrong.
        spoils &= reason != RefusalReason.Contradiction;
        if (spoils && draft is not null)
            draft.Spoilt = true;
        _refused.Add(new RefusedRecord(position, Short(name), reason, field, detail, remedy, spoils));
    }

    private Draft DraftOf(SpotId spot, double unixSeconds)
    {
        var milliseconds = (long)Math.Round(unixSeconds * 1000);
        if (!_drafts.TryGetValue((spot, milliseconds), out var draft))
        {
            draft = new Draft(new Reading(spot, DateTimeOffset.FromUnixTimeMilliseconds(milliseconds)));
            _drafts.Add((spot, milliseconds), draft);
        }

        return draft;
    }

    private static string Short(string text) => string.Concat(
        text.Take(RefusedRecord.LongestName).Select(c => char.IsControl(c) || char.IsSurrogate(c) ? '?' : c));

    private sealed class Draft(Reading reading)
    {
        public Reading Reading { get; set; } = reading;

        public bool Spoilt { get; set; }

        public bool SaysQuality { get; set; }

        public bool HasContent => SaysQuality || WireQuantity.All.Any(q => q.Get(Reading) is not null);
    }
}
