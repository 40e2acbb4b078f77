using System.Security.Cryptography;
using System.Text;

namespace PavementWatch.Server.People;

/// <summary>The link by which the first person of the business comes in. There is one while nobody of the business is; it lives as long as this process.</summary>
internal sealed class SetUpLink(PersonStore people)
{
    private readonly string _token = LinkToken.New();

    /// <summary>The link's token; <c>null</c> as soon as somebody of the business is there.</summary>
    public async Task<string?> TokenAsync(CancellationToken cancellationToken) =>
        await people.HasBusinessAsync(cancellationToken) ? null : _token;

    /// <summary>Whether this token opens it now.</summary>
    public async Task<bool> IsGoodAsync(string token, CancellationToken cancellationToken) =>
        CryptographicOperations.FixedTimeEquals(Encoding.UTF8.GetBytes(token), Encoding.UTF8.GetBytes(_token))
        && !await people.HasBusinessAsync(cancellationToken);
}
