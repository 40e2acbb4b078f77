using PavementWatch.Server.Notifications.WebPush;

namespace PavementWatch.Server.Notifications;

/// <summary>A way to reach the business.</summary>
internal interface IBusinessChannel
{
    /// <summary>Its name, in the outbox and the log.</summary>
    string Name { get; }

    /// <summary>Whether the settings say where to.</summary>
    bool IsSet { get; }

    /// <summary>One attempt. A repeated one has the same id.</summary>
    Task<SendOutcome> SendAsync(Guid id, BusinessNotice notice, CancellationToken cancellationToken);
}
