using System.Globalization;
using System.Net;
using System.Net.Http.Headers;
using System.Net.Mime;
using System.Security.Cryptography;
using System.Text;
using System.Text.Json;
using Microsoft.Extensions.Options;
using PavementWatch.Server.Notifications.WebPush;

namespace PavementWatch.Server.Notifications.Webhook;

/// <summary>Posts to the business' own address, signed as the open specification Standard Webhooks 1.0 says.</summary>
internal sealed class BusinessWebhook(IOptions<NotificationOptions> options) : IBusinessChannel, IDisposable
{
    private const string SecretPrefix = "whsec_";

    private readonly HttpClient _http = new(new SocketsHttpHandler
    {
        AllowAutoRedirect = false,
        UseCookies = false,
        ConnectTimeout = TimeSpan.FromSeconds(10),
        MaxResponseDrainSize = 64 * 1024,
    })
    {
        Timeout = TimeSpan.FromSeconds(30),
    };

    public string Name => "webhook";

    public bool IsSet => options.Value.Business.WebhookUrl.Length > 0;

    public async Task<SendOutcome> SendAsync(Guid id, BusinessNotice notice, CancellationToken cancellationToken)
    {
        var body = JsonSerializer.Serialize(
            new { type = notice.Type, timestamp = notice.At, data = (object)notice }, JsonSerializerOptions.Web);
        using var request = new HttpRequestMessage(HttpMethod.Post, options.Value.Business.WebhookUrl);
        request.Content = new StringContent(body, new MediaTypeHeaderValue(MediaTypeNames.Application.Json));
        // The receiver compares it with its own clock, which is not the spots' when those run faster than life.
        var seconds = TimeProvider.System.GetUtcNow().ToUnixTimeSeconds();
        request.Headers.Add("webhook-id", id.ToString());
        request.Headers.Add("webhook-timestamp", seconds.ToString(CultureInfo.InvariantCulture));
        try
        {
            if (options.Value.Business.WebhookSecretFile is { Length: > 0 } file)
                request.Headers.Add("webhook-signature", Signature(await File.ReadAllTextAsync(file, cancellationToken), id.ToString(), seconds, body));
            // The status says it all; a body could be without end.
            using var answer = await _http.SendAsync(request, HttpCompletionOption.ResponseHeadersRead, cancellationToken);
            return Of(answer);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or FormatException)
        {
            return new SendOutcome.TryLater($"Notifications:Business:WebhookSecretFile: {e.Message}", null);
        }
        catch (HttpRequestException e)
        {
            return new SendOutcome.TryLater($"{e.HttpRequestError}: {e.Message}", null);
        }
        catch (TaskCanceledException) when (!cancellationToken.IsCancellationRequested)
        {
            return new SendOutcome.TryLater("no answer within 30 s", null);
        }
    }

    /// <summary>Version 1 of the signature: HMAC-SHA256 over id, time and body with dots between.</summary>
    /// <exception cref="FormatException">The secret is not base64.</exception>
    internal static string Signature(string secret, string id, long unixSeconds, string body)
    {
        var trimmed = secret.Trim();
        var key = Convert.FromBase64String(
            trimmed.StartsWith(SecretPrefix, StringComparison.Ordinal) ? trimmed[SecretPrefix.Length..] : trimmed);
        var signed = string.Create(CultureInfo.InvariantCulture, $"{id}.{unixSeconds}.{body}");
        return $"v1,{Convert.ToBase64String(HMACSHA256.HashData(key, Encoding.UTF8.GetBytes(signed)))}";
    }

    public void Dispose() => _http.Dispose();

    private static SendOutcome Of(HttpResponseMessage answer)
    {
        if (answer.IsSuccessStatusCode)
            return new SendOutcome.Taken();
        var detail = $"the receiver answered {(int)answer.StatusCode}";
        return answer.StatusCode is HttpStatusCode.TooManyRequests or HttpStatusCode.RequestTimeout or >= HttpStatusCode.InternalServerError
            ? new SendOutcome.TryLater(detail, answer.Headers.RetryAfter?.Delta)
            : new SendOutcome.Refused(detail);
    }
}
