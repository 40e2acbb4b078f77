using System.Globalization;
using System.Text.Json;
using PavementWatch.Core.Readings;

namespace PavementWatch.Core.Wire;

/// <summary>Writes readings into one pack: the base name where the spot changes, the base time where the moment does.</summary>
internal sealed class ReadingPackWriter(Utf8JsonWriter json)
{
    private SpotId _spot;
    private long? _milliseconds;

    public void Add(Reading reading)
    {
        if (reading.Spot == default)
            throw new ArgumentException("a reading without a spot cannot be sent", nameof(reading));

        var milliseconds = reading.MeasuredAt.ToUnixTimeMilliseconds();
        var wrote = false;
        foreach (var quantity in WireQuantity.All)
        {
            if (quantity.Get(reading) is not { } value)
                continue;
            if (!double.IsFinite(value))
            {
                throw new ArgumentException(
                    $"{quantity.Name} of {reading.Spot} is {value}, which JSON cannot hold; leave it null", nameof(reading));
            }

            Open(reading.Spot, milliseconds, quantity.Name);
            json.WriteString("u", quantity.Unit);
            Number("v", value);
            json.WriteEndObject();
            wrote = true;
        }

        // A reading without any value is still said, or nobody would know that the gateway tried.
        if ((WireQuality.Text(reading) ?? (wrote ? null : "good")) is { } quality)
        {
            Open(reading.Spot, milliseconds, ReadingPack.QualityName);
            json.WriteString("vs", quality);
            json.WriteEndObject();
        }
    }

    private void Open(SpotId spot, long milliseconds, string name)
    {
        json.WriteStartObject();
        if (spot != _spot)
            json.WriteString("bn", $"{spot.Value}/");
        _spot = spot;

        if (milliseconds != _milliseconds)
            json.WriteNumber("bt", milliseconds / 1000m);
        _milliseconds = milliseconds;

        json.WriteString("n", name);
    }

    // The shortest text that reads back equal, its exponent in lower case (RFC 8428, section 5).
    private void Number(string label, double value)
    {
        json.WritePropertyName(label);
        json.WriteRawValue(
            value.ToString("R", CultureInfo.InvariantCulture).Replace('E', 'e'), skipInputValidation: true);
    }
}
