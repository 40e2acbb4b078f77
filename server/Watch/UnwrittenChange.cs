using PavementWatch.Core.Alerts;
using PavementWatch.Core.Surfaces;
using PavementWatch.Server.Devices;
using PavementWatch.Server.Notifications;
using PavementWatch.Server.Notifications.WebPush;

namespace PavementWatch.Server.Watch;

/// <summary>A change that the registry does not have yet, and what became of telling it.</summary>
internal sealed class UnwrittenChange(Spot spot, AlertMemory memory, AlertDecision decision)
{
    private volatile bool _isOvertaken;

    /// <summary>Names its notice to the business.</summary>
    public Guid Id { get; } = Guid.NewGuid();

    public Spot Spot { get; } = spot;

    /// <summary>Its row, where the registry, which hung, has taken it after all; <c>null</c> until then.</summary>
    public int? WrittenAs { get; set; }

    /// <summary>What the machine remembers with it.</summary>
    public AlertMemory Memory { get; } = memory;

    public AlertDecision Decision { get; set; } = decision;

    /// <summary>Telling devices: ended or under way.</summary>
    public Task Telling { get; set; } = Task.CompletedTask;

    /// <summary>Looking for whom to tell, which a registry that hangs may hold up: ended or under way.</summary>
    public Task Looking { get; set; } = Task.CompletedTask;

    /// <summary>Telling the business: ended or under way.</summary>
    public Task TellingBusiness { get; set; } = Task.CompletedTask;

    /// <summary>How often telling it was begun.</summary>
    public int Tellings { get; set; }

    /// <summary>Whether who knows of it may be another in a moment.</summary>
    public bool IsBeingTold => !Telling.IsCompleted || !Looking.IsCompleted || !TellingBusiness.IsCompleted;

    /// <summary>What devices are told; <c>null</c> until it is known which.</summary>
    public IReadOnlyList<UnwrittenMessage>? Messages { get; set; }

    /// <summary>Walkers whom it concerned when they were first looked for.</summary>
    public IReadOnlyCollection<int> Walkers { get; set; } = [];

    /// <summary>Walkers whom it concerns only since then.</summary>
    public IReadOnlyList<UnwrittenWalker> Later { get; set; } = [];

    /// <summary>Whether there is newer news of the spot.</summary>
    public bool IsOvertaken
    {
        get => _isOvertaken;
        set => _isOvertaken = value;
    }

    /// <summary>Whether a push service took it for any device of those whom it concerned at first.</summary>
    public bool WasTold => Messages?.Any(m => m.Outcome is SendOutcome.Taken && Later.All(w => w.PersonId != m.Device.PersonId)) == true;

    /// <summary>Whether a push service took it for any device of somebody.</summary>
    public bool WasToldTo(int person) => Messages?.Any(m => m.Outcome is SendOutcome.Taken && m.Device.PersonId == person) == true;

    /// <summary>Whether it is known that no walker is near.</summary>
    public bool ConcernsNobody => Messages is not null && Walkers.Count == 0;

    /// <summary>Ways by which the business heard that nobody was told.</summary>
    public HashSet<string> ToldToBusiness { get; } = new(StringComparer.Ordinal);
}

/// <summary>A walker whom such a change concerns since it was told.</summary>
internal sealed class UnwrittenWalker(int personId, DateTimeOffset since)
{
    /// <summary>Names its notice to the business.</summary>
    public Guid Id { get; } = Guid.NewGuid();

    public int PersonId { get; } = personId;

    public DateTimeOffset Since { get; } = since;

    /// <summary>Ways by which the business heard that they were not told.</summary>
    public HashSet<string> ToldToBusiness { get; } = new(StringComparer.Ordinal);
}

/// <summary>What one device is told of such a change.</summary>
internal sealed class UnwrittenMessage(PushSubscriptionRow device, PushMessageBody body, DateTimeOffset createdAt)
{
    public PushSubscriptionRow Device { get; } = device;

    // By itself: what else stands at its site cannot be looked up, and nothing may take its place on its way.
    public PushMessageBody Body { get; } = body with { Tag = $"spot-{body.Spot}-{body.Side}" };

    public DateTimeOffset CreatedAt { get; set; } = createdAt;

    public SendOutcome? Outcome { get; set; }

    /// <summary>Whether sending it again would change nothing.</summary>
    public bool IsSettled => Outcome is not (null or SendOutcome.TryLater or SendOutcome.Forbidden);

    public NotificationRow Row(AlertNotifications news, int eventId)
    {
        var row = news.Row(Device, Body, eventId, CreatedAt);
        (row.Standing, row.Attempts) = Outcome switch
        {
            SendOutcome.Taken => (NotificationStanding.Sent, 1),
            SendOutcome.Gone or SendOutcome.Refused => (NotificationStanding.Failed, 1),
            _ => (NotificationStanding.Waiting, 0),
        };
        if (row.Standing == NotificationStanding.Sent)
            row.SentAt = row.CreatedAt;
        return row;
    }
}
