using System.CommandLine;
using System.Globalization;

namespace PavementWatch.Gateway.Sizing;

/// <summary>Turns a value that core refuses into bad usage, in the words of the command line.</summary>
internal static class OptionFault
{
    /// <summary>Bad usage, as every verb says it.</summary>
    public const int BadUsage = 2;

    /// <summary>Says which option was wrong.</summary>
    /// <param name="parsed">Gives where to write.</param>
    /// <param name="fault">What core said; its parameter is named.</param>
    /// <param name="options">The option of each parameter.</param>
    /// <returns>The exit code.</returns>
    public static int Report(ParseResult parsed, ArgumentOutOfRangeException fault, IReadOnlyDictionary<string, Option> options)
    {
        var name = fault.ParamName is { } p && options.TryGetValue(p, out var option) ? option.Name : fault.ParamName;
        var expected = fault.Message.Split(" (Parameter", 2)[0];
        parsed.InvocationConfiguration.Error.WriteLine(string.Create(
            CultureInfo.InvariantCulture, $"{name} is {fault.ActualValue}, {expected}"));
        return BadUsage;
    }
}
