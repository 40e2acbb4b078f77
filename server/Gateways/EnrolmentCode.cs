using System.Security.Cryptography;
using System.Text;

namespace PavementWatch.Server.Gateways;

/// <summary>A single-use code as people read and type it, e.g. <c>7QK2M-9XB4J</c>: nine random signs, the tenth checks them.</summary>
/// <remarks>
/// Signs of Crockford's base 32, which leaves out I, L, O and U: what is typed as one of the first three is read as 1, 1
/// and 0. 45 random bits, good for 30 minutes behind a rate limit. The check is Luhn's, over 32: it finds every single
/// wrong sign and nearly every swap of neighbours.
/// </remarks>
internal static class EnrolmentCode
{
    /// <summary>Signs of a code, without the dash in its middle.</summary>
    public const int Length = 10;

    private const string Signs = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";

    /// <summary>A new code, as it is shown.</summary>
    public static string New()
    {
        var random = RandomNumberGenerator.GetString(Signs, Length - 1);
        var code = random + Signs[Check(random)];
        return $"{code[..5]}-{code[5..]}";
    }

    /// <summary>Reads what somebody typed; small letters, spaces and dashes do not matter.</summary>
    /// <returns>The ten signs, or what is wrong with them.</returns>
    public static (string? Code, string? Fault) Read(string? text)
    {
        var typed = string.Concat((text ?? "").ToUpperInvariant().Where(c => c is not ('-' or ' ')).Select(c => c switch
        {
            'O' => '0',
            'I' or 'L' => '1',
            _ => c,
        }));
        if (typed.Length != Length)
            return (null, $"it has {typed.Length} signs, expected {Length} such as 7QK2M-9XB4J");
        if (typed.FirstOrDefault(c => !Signs.Contains(c, StringComparison.Ordinal)) is var odd and not '\0')
            return (null, char.IsAsciiLetterOrDigit(odd) ? $"'{odd}' is in no code" : "it holds a sign that is neither letter nor digit");
        return Signs[Check(typed[..^1])] == typed[^1] ? (typed, null) : (null, "one of its signs is wrong, or two are swapped");
    }

    /// <summary>What is kept of a code.</summary>
    public static string Hash(string code) => Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(Read(code).Code ?? code)));

    private static int Check(string signs)
    {
        var sum = 0;
        for (var i = 0; i < signs.Length; i++)
        {
            // The sign next to the check is doubled, then every second one.
            var value = Signs.IndexOf(signs[i], StringComparison.Ordinal) * ((signs.Length - i) % 2 == 1 ? 2 : 1);
            sum += (value / 32) + (value % 32);
        }

        return (32 - (sum % 32)) % 32;
    }
}
