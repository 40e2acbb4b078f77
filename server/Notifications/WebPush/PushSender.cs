using System.Collections.Concurrent;
using System.Net;
using Lib.Net.Http.WebPush;
using Lib.Net.Http.WebPush.Authentication;
using Microsoft.Extensions.Options;
using PavementWatch.Server.Devices;
using PavementWatch.Server.Hosting;

namespace PavementWatch.Server.Notifications.WebPush;

/// <summary>Encrypts (RFC 8291), signs (RFC 8292) and sends one message to one device's push service.</summary>
internal sealed class PushSender : IDisposable
{
    // Its lane waits for a service that does not answer, so patience is short; the outbox tries again.
    public static readonly TimeSpan Patience = TimeSpan.FromSeconds(8);

    private readonly PushHosts _hosts;
    private readonly VapidKeys _keys;
    private readonly string _subject;
    private readonly TimeProvider _time;
    private readonly TimeProvider _peopleTime;
    private readonly HttpClient _http;
    private readonly PushServiceClient _client;
    private readonly Tokens _tokens = new();
    private VapidAuthentication? _authentication;

    public PushSender(
        PushHosts hosts, VapidKeys keys, IOptions<NotificationOptions> options, TimeProvider time, [FromKeyedServices(Clocks.People)] TimeProvider peopleTime)
    {
        _hosts = hosts;
        _keys = keys;
        _subject = options.Value.Subject;
        _time = time;
        _peopleTime = peopleTime;
        _http = new HttpClient(new BodyUnread(new SocketsHttpHandler
        {
            // A push service that sends us elsewhere could send us inside.
            AllowAutoRedirect = false,
            UseCookies = false,
            ConnectCallback = hosts.ConnectAsync,
            MaxResponseDrainSize = 64 * 1024,
            PooledConnectionLifetime = TimeSpan.FromMinutes(10),
        }))
        {
            Timeout = Timeout.InfiniteTimeSpan, // Each message has its own.
        };
        // The library would repeat a 429 by itself without end; the outbox repeats, durably.
        _client = new PushServiceClient(_http) { AutoRetryAfter = false };
    }

    public async Task<SendOutcome> SendAsync(
        PushSubscriptionRow to, PushMessageBody body, DateTimeOffset expiresAt, CancellationToken cancellationToken)
    {
        if (_hosts.Refusal(to.Endpoint) is { } refusal)
            return new SendOutcome.Refused(refusal);
        var payload = body.Fitting().ToJson();

        var subscription = new PushSubscription { Endpoint = to.Endpoint };
        subscription.SetKey(PushEncryptionKeyName.P256DH, to.P256dh);
        subscription.SetKey(PushEncryptionKeyName.Auth, to.Auth);
        var seconds = Math.Max(0, (expiresAt - _time.GetUtcNow()).TotalSeconds);
        using var content = new StringContent(payload);
        var message = new PushMessage(content)
        {
            Topic = PushMessageBody.Topic(body.Tag),
            Urgency = PushMessageUrgency.High,
            TimeToLive = (int)seconds,
        };
        // By the people's clock: a push service is as fast as it is, however fast a simulated day runs.
        using var patience = new CancellationTokenSource(Patience, _peopleTime);
        using var end = CancellationTokenSource.CreateLinkedTokenSource(patience.Token, cancellationToken);
        try
        {
            await _client.RequestPushMessageDeliveryAsync(
                subscription, message, await AuthenticationAsync(cancellationToken), VapidAuthenticationScheme.Vapid, end.Token);
            return new SendOutcome.Taken();
        }
        catch (PushServiceClientException e)
        {
            var outcome = Of(e);
            // It may have been signed by a clock that has been set since: the next attempt must not use that again.
            if (outcome is SendOutcome.Forbidden)
                _tokens.Clear();
            return outcome;
        }
        catch (HttpRequestException e)
        {
            return new SendOutcome.TryLater($"{e.HttpRequestError}: {e.Message}", null);
        }
        catch (OperationCanceledException) when (patience.IsCancellationRequested && !cancellationToken.IsCancellationRequested)
        {
            return new SendOutcome.TryLater($"no answer within {Patience.TotalSeconds:0} s", null);
        }
    }

    public void Dispose()
    {
        _authentication?.Dispose();
        _http.Dispose();
    }

    private SendOutcome Of(PushServiceClientException e)
    {
        var detail = $"push service answered {(int)e.StatusCode}";
        return e.StatusCode switch
        {
            HttpStatusCode.NotFound or HttpStatusCode.Gone => new SendOutcome.Gone(detail),
            HttpStatusCode.Unauthorized or HttpStatusCode.Forbidden => new SendOutcome.Forbidden(detail),
            HttpStatusCode.TooManyRequests or HttpStatusCode.RequestTimeout or >= HttpStatusCode.InternalServerError =>
                new SendOutcome.TryLater(detail, After(e)),
            _ => new SendOutcome.Refused(detail),
        };
    }

    private TimeSpan? After(PushServiceClientException e) => e.Headers?.RetryAfter switch
    {
        { Delta: { } pause } => pause,
        { Date: { } date } => date - _time.GetUtcNow(),
        _ => null,
    };

    private async ValueTask<VapidAuthentication> AuthenticationAsync(CancellationToken cancellationToken)
    {
        if (_authentication is { } ready)
            return ready;
        var keys = await _keys.GetAsync(cancellationToken);
        return _authentication = new VapidAuthentication(keys.PublicKey, keys.PrivateKey)
        {
            Subject = _subject,
            TokenCache = _tokens,
        };
    }

    // What a push service answers is in its status and headers. A body could be without end.
    private sealed class BodyUnread(HttpMessageHandler inner) : DelegatingHandler(inner)
    {
        protected override async Task<HttpResponseMessage> SendAsync(HttpRequestMessage request, CancellationToken cancellationToken)
        {
            var answer = await base.SendAsync(request, cancellationToken);
            var body = answer.Content;
            answer.Content = new ByteArrayContent([]);
            body.Dispose();
            return answer;
        }
    }

    // Tokens hold for half a day of the real time, whatever the spots' clock says.
    private sealed class Tokens : IVapidTokenCache
    {
        private static readonly TimeSpan Reserve = TimeSpan.FromMinutes(30);

        private readonly ConcurrentDictionary<string, (DateTimeOffset Until, string Token)> _tokens = [];

        public void Clear() => _tokens.Clear();

        public void Put(string audience, DateTimeOffset expiration, string token) => _tokens[audience] = (expiration, token);

        // The library's interface says null for "none" without an annotation.
        public string Get(string audience) =>
            _tokens.TryGetValue(audience, out var kept) && kept.Until - Reserve > TimeProvider.System.GetUtcNow()
                ? kept.Token
                : null!;
    }
}
