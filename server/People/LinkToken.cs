using System.Buffers.Text;
using System.Security.Cryptography;
using System.Text;

namespace PavementWatch.Server.People;

/// <summary>The unguessable part of a link: 256 random bits; only its SHA-256 is kept.</summary>
internal static class LinkToken
{
    public static string New() => Base64Url.EncodeToString(RandomNumberGenerator.GetBytes(32));

    public static string Hash(string token) => Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(token)));
}
