using System.CommandLine;
using System.CommandLine.Parsing;
using System.Globalization;
using PavementWatch.Gateway.Buses;

namespace PavementWatch.Gateway.Sensors.Mlx90614;

/// <summary><c>mlx90614</c>: looks into one infrared sensor, and gives it an address or its factory emissivity.</summary>
internal static class Mlx90614Command
{
    private const ushort FactoryEmissivity = 0xFFFF;

    /// <summary>The verb.</summary>
    /// <param name="open">The buses to work on; disposed afterwards.</param>
    public static Command Create(Func<ParseResult, IBuses> open)
    {
        var bus = new Option<int>("--bus") { Description = "number of the I2C bus; 1, the Pi's header, unless given", DefaultValueFactory = _ => 1 };
        var address = AddressOption("--address", "where the sensor is; 0x5A, a new sensor's, unless given");
        var newAddress = AddressOption("--new-address", "where it shall be, 0x08 to 0x77");
        var reset = new Option<bool>("--reset-emissivity") { Description = "set the emissivity kept in the sensor to 1, as this gateway expects" };
        var command = new Command("mlx90614",
            "Look into an MLX90614; with options give it an address of its own or its factory emissivity. Stop the service first.")
        {
            bus, address, newAddress, reset,
        };
        command.SetAction(parsed =>
        {
            using var buses = open(parsed);
            var at = parsed.GetValue(address) ?? Mlx90614Sensor.FactoryAddress;
            try
            {
                Run(buses, parsed.GetValue(bus), at, parsed.GetValue(newAddress), parsed.GetValue(reset), parsed.InvocationConfiguration.Output);
                return 0;
            }
            catch (Exception e) when (e is IOException or RefusedFrameException or UnauthorizedAccessException or PlatformNotSupportedException)
            {
                parsed.InvocationConfiguration.Error.WriteLine(e is RefusedFrameException
                    ? $"MLX90614 at 0x{at:X2}: {e.Message}"
                    : $"no MLX90614 answers at bus {parsed.GetValue(bus)}, address 0x{at:X2} ({e.Message.TrimEnd('.')}); check that it is the only one plugged in, and powered");
                return 1;
            }
        });
        return command;
    }

    private static void Run(IBuses buses, int bus, int address, int? newAddress, bool reset, TextWriter output)
    {
        using var device = buses.I2c(bus).CreateDevice(address);
        using var wire = new Mlx90614Wire(device);
        output.WriteLine($"MLX90614 at 0x{address:X2}: emissivity {wire.ReadWord(Mlx90614Wire.EmissivityCommand) / 65535.0:F3}, " +
            $"address cell 0x{wire.ReadWord(Mlx90614Wire.AddressCommand):X4}, own temperature {(wire.ReadWord(Mlx90614Wire.BodyCommand) * 0.02) - 273.15:F2} °C");
        if (newAddress is { } wanted)
        {
            if (wanted != address && Answers(buses, bus, wanted))
                throw new RefusedFrameException(RejectReason.WrongDevice,
                    $"something answers at 0x{wanted:X2} already; unplug it or choose another address");
            wire.WriteCell(Mlx90614Wire.AddressCommand, (ushort)wanted, buses.Wait);
            output.WriteLine($"address 0x{wanted:X2} written and read back; switch the sensor off and on, then set Address to 0x{wanted:X2}");
        }

        if (reset)
        {
            wire.WriteCell(Mlx90614Wire.EmissivityCommand, FactoryEmissivity, buses.Wait);
            output.WriteLine("emissivity 1.000 written and read back; switch the sensor off and on");
        }
    }

    private static bool Answers(IBuses buses, int bus, int address)
    {
        using var device = buses.I2c(bus).CreateDevice(address);
        try
        {
            device.ReadByte();
            return true;
        }
        catch (IOException)
        {
            return false;
        }
    }

    private static Option<int?> AddressOption(string name, string description) => new(name)
    {
        Description = description,
        HelpName = "0x5A",
        CustomParser = result => Parse(name, result),
    };

    private static int? Parse(string name, ArgumentResult result)
    {
        var text = result.Tokens[0].Value;
        var isNumber = text.StartsWith("0x", StringComparison.OrdinalIgnoreCase)
            ? int.TryParse(text.AsSpan(2), NumberStyles.AllowHexSpecifier, CultureInfo.InvariantCulture, out var address)
            : int.TryParse(text, NumberStyles.None, CultureInfo.InvariantCulture, out address);
        if (isNumber && address is >= 0x08 and <= 0x77)
            return address;
        result.AddError($"{name} is '{text}', expected 0x08 to 0x77");
        return null;
    }
}
