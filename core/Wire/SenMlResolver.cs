using System.Buffers;

namespace PavementWatch.Core.Wire;

/// <summary>Applies the base fields in force to each record in turn (RFC 8428, sections 4.5 and 4.6).</summary>
internal sealed class SenMlResolver(DateTimeOffset now)
{
    private static readonly SearchValues<char> NameCharacters = SearchValues.Create(
        "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-:./_");

    private readonly double _now = now.ToUnixTimeMilliseconds() / 1000.0;
    private readonly List<SenMlRecord> _records = [];
    private readonly List<SenMlFault> _faults = [];

    private string _baseName = "";
    private string? _baseUnit;
    private double _baseTime;
    private double? _baseValue;
    private double? _baseSum;
    private int? _version;

    public int Position { get; private set; }

    /// <summary>Takes the next record in.</summary>
    /// <returns>Why the whole pack is spoilt, or <c>null</c>.</returns>
    public SenMlOutcome.Malformed? Add(SenMlFields fields)
    {
        if (Spoils(fields) is { } malformed)
            return malformed;

        _baseName = fields.BaseName ?? _baseName;
        _baseUnit = fields.BaseUnit ?? _baseUnit;
        _baseTime = fields.BaseTime ?? _baseTime;
        _baseValue = fields.BaseValue ?? _baseValue;
        _baseSum = fields.BaseSum ?? _baseSum;

        if (fields.HasRegular)
            Resolve(fields);
        Position++;
        return null;
    }

    public SenMlOutcome.Parsed Finish() =>
        new([.. _records.OrderBy(r => r.UnixSeconds)], _faults);

    private SenMlOutcome.Malformed? Spoils(SenMlFields fields)
    {
        if (fields.MandatoryLabel is { } label)
        {
            return new(SenMlMistake.MandatoryLabel, $"record {Position}, {label}",
                "a label ending in _ must be understood (RFC 8428, section 4.4), and this one is not",
                "leave it out, or update whoever reads it");
        }

        if (fields.Wrong is { Label: ['b', _, ..] } wrong)
        {
            return new(SenMlMistake.BaseField, $"record {Position}, {wrong.Label}",
                $"found {wrong.Found}, expected {wrong.Expected}", "records that follow cannot be resolved without it");
        }

        if (fields.BaseVersion is { } version)
        {
            if (!(version >= 1 && version <= SenMl.Version && version == Math.Floor(version)))
            {
                return new(SenMlMistake.Version, $"record {Position}, bver",
                    $"version {version:R}, expected a whole number from 1 to {SenMl.Version}",
                    "send the version of RFC 8428, or leave bver out");
            }

            if (Position > 0 && (int)version != (_version ?? SenMl.Version))
            {
                return new(SenMlMistake.Version, $"record {Position}, bver",
                    $"version {version:R} after version {_version ?? SenMl.Version} in one pack",
                    "send one version in a pack (RFC 8428, section 4.4)");
            }

            _version = (int)version;
        }

        return null;
    }

    private void Resolve(SenMlFields fields)
    {
        var name = _baseName + fields.Name;
        var seconds = _baseTime + (fields.Time ?? 0);
        var relative = seconds < SenMl.FirstAbsoluteSeconds;
        if (relative)
            seconds += _now;

        double? sum = fields.Sum is null && _baseSum is null ? null : (fields.Sum ?? 0) + (_baseSum ?? 0);
        var value = fields.ValueKinds == 0 && sum is null ? _baseValue : fields.Value + (_baseValue ?? 0);

        var wrong = fields.Wrong
            ?? WrongName(name)
            ?? (double.IsFinite(seconds) ? null : new WrongField("t", "a sum that is not finite", "a time"))
            ?? (double.IsFinite(value ?? 0) ? null : new WrongField("v", "a sum with bv that is not finite", "a finite number"))
            ?? (double.IsFinite(sum ?? 0) ? null : new WrongField("s", "a sum with bs that is not finite", "a finite number"))
            ?? WrongValues(fields.ValueKinds, value, sum);
        if (wrong is not null)
        {
            // A time that could not be read is not zero.
            var known = wrong.Label == "t" ? double.NaN : seconds;
            _faults.Add(new SenMlFault(Position, name, known, relative, wrong.Label, wrong.Found, wrong.Expected));
            return;
        }

        _records.Add(new SenMlRecord(name, fields.Unit ?? _baseUnit, seconds)
        {
            Value = value,
            StringValue = fields.StringValue,
            BoolValue = fields.BoolValue,
            DataValue = fields.DataValue,
            Sum = sum,
            UpdateSeconds = fields.UpdateTime,
            WasRelative = relative,
            Version = _version ?? SenMl.Version,
            Position = Position,
        });
    }

    private static WrongField? WrongName(string name) =>
        name.Length > 0 && char.IsAsciiLetterOrDigit(name[0]) && !name.AsSpan().ContainsAnyExcept(NameCharacters)
            ? null
            : new WrongField("n", name.Length == 0 ? "no name" : "a character that names may not hold",
                "letters, digits, - : . / _, the first a letter or digit");

    private static WrongField? WrongValues(int kinds, double? value, double? sum) => kinds switch
    {
        > 1 => new WrongField("v", $"{kinds} values", "one of v, vs, vb, vd"),
        0 when value is null && sum is null => new WrongField("v", "no value", "one of v, vs, vb, vd, or s"),
        _ => null,
    };
}
