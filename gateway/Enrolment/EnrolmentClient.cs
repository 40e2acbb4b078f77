using System.Net;
using System.Net.Http.Json;
using System.Net.Security;
using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;
using System.Text.Json;
using PavementWatch.Core.Readings;

namespace PavementWatch.Gateway.Enrolment;

/// <summary>Asks the server for credentials with a single-use code.</summary>
internal static class EnrolmentClient
{
    private const int LargestReply = 256 * 1024;

    private static readonly JsonSerializerOptions Form = new(JsonSerializerDefaults.Web) { RespectNullableAnnotations = true };

    /// <summary>Asks.</summary>
    /// <param name="server">The server's pages, e.g. <c>https://walks.example:5443</c>.</param>
    /// <param name="code">The code on the business page.</param>
    /// <param name="fingerprint">SHA-256 of the server's certificate or its authority's, as the page shows it; <c>null</c> trusts the system's authorities.</param>
    /// <param name="cancellationToken">Ends the attempt.</param>
    public static async Task<EnrolmentOutcome> EnrolAsync(Uri server, string code, string? fingerprint, CancellationToken cancellationToken)
    {
        using var handler = new SocketsHttpHandler();
        if (fingerprint is not null)
            handler.SslOptions.RemoteCertificateValidationCallback = (_, certificate, chain, errors) => Matches(fingerprint, certificate, chain, errors);
        using var http = new HttpClient(handler) { Timeout = TimeSpan.FromSeconds(30), MaxResponseContentBufferSize = LargestReply };
        try
        {
            using var answer = await http.PostAsJsonAsync(new Uri(server, "/api/enrol"), new { code }, cancellationToken);
            return answer.IsSuccessStatusCode
                ? Judge(await answer.Content.ReadAsByteArrayAsync(cancellationToken))
                : await RefusalAsync(answer, cancellationToken);
        }
        catch (HttpRequestException error) when (error.HttpRequestError == HttpRequestError.SecureConnectionError)
        {
            return new EnrolmentOutcome.Later(EnrolmentObstacle.Certificate, fingerprint is null
                ? $"the certificate of {server.Host} is signed by nobody this machine knows; give --fingerprint with the one the business page shows"
                : $"the certificate of {server.Host} does not have the fingerprint given; compare it with the business page, and if it still differs somebody is between the two");
        }
        catch (HttpRequestException error)
        {
            return new EnrolmentOutcome.Later(EnrolmentObstacle.Network, $"{server} was not reached: {error.Message}; look at the network and the address");
        }
        catch (IOException error)
        {
            return new EnrolmentOutcome.Later(EnrolmentObstacle.Network, $"{server} broke off its answer: {error.Message}; look at the network");
        }
        catch (OperationCanceledException) when (!cancellationToken.IsCancellationRequested)
        {
            return new EnrolmentOutcome.Later(EnrolmentObstacle.Network, $"{server} did not answer in 30 s; look at the network and the address");
        }
    }

    /// <summary>What the server's answer to a good code is worth.</summary>
    /// <param name="utf8">Its body.</param>
    internal static EnrolmentOutcome Judge(byte[] utf8)
    {
        EnrolmentReply? reply;
        try
        {
            reply = JsonSerializer.Deserialize<EnrolmentReply>(utf8, Form);
        }
        catch (JsonException error)
        {
            // A page to sign in to a guest network answers like this too.
            return new EnrolmentOutcome.Later(EnrolmentObstacle.Server, $"the server answered something else than an enrolment ({error.Message}); is it a PavementWatch server, and as new as this gateway?");
        }

        if (reply is null)
            return new EnrolmentOutcome.Later(EnrolmentObstacle.Server, "the server answered nothing; is it a PavementWatch server?");
        var fault = !GatewayId.TryParse(reply.Gateway, out _) ? $"gateway '{reply.Gateway}'"
            : reply.BrokerHost.Length == 0 ? "no brokerHost"
            : reply.BrokerPort is < 1 or > 65535 ? $"brokerPort {reply.BrokerPort}"
            : reply.Spots.Any(spot => spot is null) ? "a spot that is null"
            : reply.Spots.FirstOrDefault(spot => !SpotId.TryParse(spot.Id, out _)) is { } bad ? $"spot '{bad.Id}'"
            : null;
        return fault is null
            ? new EnrolmentOutcome.Enrolled(reply)
            : new EnrolmentOutcome.Never($"the server's answer holds {fault}, which cannot be; is it as new as this gateway?");
    }

    private static async Task<EnrolmentOutcome> RefusalAsync(HttpResponseMessage answer, CancellationToken cancellationToken)
    {
        var said = DetailOf(await answer.Content.ReadAsByteArrayAsync(cancellationToken));
        var meaning = answer.StatusCode switch
        {
            HttpStatusCode.NotFound or HttpStatusCode.BadRequest or HttpStatusCode.Unauthorized or HttpStatusCode.Forbidden => "the server does not know this code; look for a mistyped character, or ask the business page for a new one",
            HttpStatusCode.Conflict => "this code was used before; ask the business page for a new one",
            HttpStatusCode.Gone => "this code has expired; codes live 30 minutes, ask the business page for a new one",
            HttpStatusCode.TooManyRequests => "too many attempts; wait a minute and try again",
            var status => $"the server answered {(int)status} {answer.ReasonPhrase}; look at its log",
        };
        var reason = said.Length > 0 ? $"{meaning} ({said})" : meaning;
        // Our server always gives its reason; whoever stands before it and says "not found" knows nothing of codes.
        return said.Length > 0 && answer.StatusCode is (HttpStatusCode.BadRequest or HttpStatusCode.NotFound or HttpStatusCode.Conflict or HttpStatusCode.Gone)
            ? new EnrolmentOutcome.Never(reason)
            : new EnrolmentOutcome.Later(EnrolmentObstacle.Server, reason);
    }

    /// <summary>The detail of a problem (RFC 9457); empty where there is none: the status says enough.</summary>
    /// <param name="utf8">The answer's body.</param>
    internal static string DetailOf(byte[] utf8)
    {
        try
        {
            using var problem = JsonDocument.Parse(utf8);
            return problem.RootElement.ValueKind == JsonValueKind.Object && problem.RootElement.TryGetProperty("detail", out var detail)
                && detail.ValueKind == JsonValueKind.String ? detail.GetString()! : "";
        }
        catch (Exception error) when (error is JsonException or InvalidOperationException)
        {
            // The latter: half of a surrogate pair.
            return "";
        }
    }

    private static bool Matches(string fingerprint, X509Certificate? certificate, X509Chain? chain, SslPolicyErrors errors)
    {
        if (certificate is null || errors.HasFlag(SslPolicyErrors.RemoteCertificateNameMismatch))
            return false;
        var wanted = fingerprint.Replace(":", "", StringComparison.Ordinal).Replace(" ", "", StringComparison.Ordinal);
        // The server's own certificate, or one above it that it sent along.
        return (chain?.ChainElements.Select(element => element.Certificate.GetCertHashString(HashAlgorithmName.SHA256)) ?? [])
            .Append(certificate.GetCertHashString(HashAlgorithmName.SHA256))
            .Contains(wanted, StringComparer.OrdinalIgnoreCase);
    }
}
