using System.Globalization;
using System.Text;
using System.Text.Json;

namespace PavementWatch.Core.Wire;

/// <summary>The fields of one SenML record as they stand on the wire (RFC 8428, table 2), before the base is applied.</summary>
internal sealed class SenMlFields
{
    private readonly HashSet<string> _seen = [];

    public string? BaseName { get; private set; }

    public double? BaseTime { get; private set; }

    public string? BaseUnit { get; private set; }

    public double? BaseValue { get; private set; }

    public double? BaseSum { get; private set; }

    public double? BaseVersion { get; private set; }

    public string? Name { get; private set; }

    public string? Unit { get; private set; }

    public double? Value { get; private set; }

    public string? StringValue { get; private set; }

    public bool? BoolValue { get; private set; }

    public string? DataValue { get; private set; }

    public double? Sum { get; private set; }

    public double? Time { get; private set; }

    public double? UpdateTime { get; private set; }

    /// <summary>Whether it holds any label that is not a base field.</summary>
    public bool HasRegular { get; private set; }

    /// <summary>A label ending in <c>_</c>: it must be understood, and none of them is.</summary>
    public string? MandatoryLabel { get; private set; }

    /// <summary>The first field of the wrong type, not finite, or given twice.</summary>
    public WrongField? Wrong { get; private set; }

    public int ValueKinds =>
        (Value is null ? 0 : 1) + (StringValue is null ? 0 : 1) + (BoolValue is null ? 0 : 1) + (DataValue is null ? 0 : 1);

    public static SenMlFields Read(ref Utf8JsonReader reader)
    {
        var fields = new SenMlFields();
        while (reader.Read() && reader.TokenType != JsonTokenType.EndObject)
        {
            var label = Text(ref reader) ?? "?";
            reader.Read();
            fields.Take(label, ref reader);
        }

        return fields;
    }

    private void Take(string label, ref Utf8JsonReader reader)
    {
        var known = true;
        switch (label)
        {
            case "bn": BaseName = String(label, ref reader); break;
            case "bt": BaseTime = Number(label, ref reader); break;
            case "bu": BaseUnit = String(label, ref reader); break;
            case "bv": BaseValue = Number(label, ref reader); break;
            case "bs": BaseSum = Number(label, ref reader); break;
            case "bver": BaseVersion = Number(label, ref reader); break;
            case "n": Name = String(label, ref reader); break;
            case "u": Unit = String(label, ref reader); break;
            case "v": Value = Number(label, ref reader); break;
            case "vs": StringValue = String(label, ref reader); break;
            case "vb": BoolValue = Bool(label, ref reader); break;
            case "vd": DataValue = String(label, ref reader); break;
            case "s": Sum = Number(label, ref reader); break;
            case "t": Time = Number(label, ref reader); break;
            case "ut": UpdateTime = Number(label, ref reader); break;
            default:
                known = false;
                if (label.EndsWith('_'))
                    MandatoryLabel ??= label;
                break;
        }

        if (known && !_seen.Add(label))
            Wrong ??= new WrongField(label, "given twice", "once");
        HasRegular |= known && label[0] != 'b';
        reader.Skip();
    }

    private double? Number(string label, ref Utf8JsonReader reader)
    {
        if (reader.TokenType == JsonTokenType.Number && reader.TryGetDouble(out var value) && double.IsFinite(value))
            return value;
        Wrong ??= new WrongField(label, Excerpt(ref reader), "a finite number");
        return null;
    }

    private string? String(string label, ref Utf8JsonReader reader)
    {
        if (reader.TokenType == JsonTokenType.String && Text(ref reader) is { } text)
            return text;
        Wrong ??= new WrongField(label, Excerpt(ref reader), "a string");
        return null;
    }

    private bool? Bool(string label, ref Utf8JsonReader reader)
    {
        if (reader.TokenType is JsonTokenType.True or JsonTokenType.False)
            return reader.GetBoolean();
        Wrong ??= new WrongField(label, Excerpt(ref reader), "true or false");
        return null;
    }

    private static string? Text(ref Utf8JsonReader reader)
    {
        try
        {
            return reader.GetString();
        }
        catch (InvalidOperationException)
        {
            return null; // Bytes that are not UTF-8, or half of a surrogate pair.
        }
    }

    private static string Excerpt(ref Utf8JsonReader reader)
    {
        const int longest = 24;
        if (reader.TokenType is JsonTokenType.StartObject or JsonTokenType.StartArray)
            return reader.TokenType == JsonTokenType.StartArray ? "an array" : "an object";
        var text = Encoding.UTF8.GetString(reader.ValueSpan[..Math.Min(longest, reader.ValueSpan.Length)]);
        var clean = string.Concat(text.Select(c => char.IsControl(c) || c == '\uFFFD' ? '?' : c));
        return reader.TokenType == JsonTokenType.String
            ? string.Create(CultureInfo.InvariantCulture, $"the string \"{clean}\"")
            : clean;
    }
}

/// <summary>A field that cannot be used.</summary>
internal sealed record WrongField(string Label, string Found, string Expected);
