using System.Globalization;
using System.Security.Cryptography;

namespace PavementWatch.Server.Gateways;

/// <summary>Hash of a gateway's secret: PBKDF2 with SHA-256, its own salt, its rounds written with it.</summary>
internal static class SecretHash
{
    private const string Scheme = "pbkdf2-sha256";
    private const int SaltBytes = 16;
    private const int HashBytes = 32;

    // NIST SP 800-132 asks for as many as users bear; a gateway signs in a few times a day.
    private const int Rounds = 100_000;

    public static string Of(string secret)
    {
        var salt = RandomNumberGenerator.GetBytes(SaltBytes);
        return string.Create(
            CultureInfo.InvariantCulture,
            $"{Scheme}${Rounds}${Convert.ToBase64String(salt)}${Convert.ToBase64String(Derive(secret, salt, Rounds))}");
    }

    public static bool Matches(string secret, string hash)
    {
        var parts = hash.Split('$');
        return parts.Length == 4
            && parts[0] == Scheme
            && int.TryParse(parts[1], NumberStyles.None, CultureInfo.InvariantCulture, out var rounds)
            && CryptographicOperations.FixedTimeEquals(
                Derive(secret, Convert.FromBase64String(parts[2]), rounds), Convert.FromBase64String(parts[3]));
    }

    private static byte[] Derive(string secret, byte[] salt, int rounds) =>
        Rfc2898DeriveBytes.Pbkdf2(secret, salt, rounds, HashAlgorithmName.SHA256, HashBytes);
}
