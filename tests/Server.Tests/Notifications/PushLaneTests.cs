using PavementWatch.Server.Notifications.WebPush;


namespace PavementWatch.Server.Tests.Notifications;

public sealed class PushLaneTests
{
    private static readonly DateTimeOffset Noon = new(2026, 7, 14, 17, 0, 0, TimeSpan.Zero);

    [Fact]
    public async Task First_attempts_go_before_repeats_and_older_before_newer()
    {
        var gate = new TaskCompletionSource();
        var all = new TaskCompletionSource();
        var sent = new List<string>();
        var lane = new PushLane(1, async message =>
        {
            await gate.Task;
            sent.Add(message.Endpoint);
            if (sent.Count == 5)
                all.SetResult();
        });

        lane.Add(Message("the one on its way", attempts: 3, minute: 0));
        lane.Add(Message("repeat, newer", attempts: 1, minute: 2));
        lane.Add(Message("repeat, older", attempts: 2, minute: 1));
        lane.Add(Message("first, newer", attempts: 0, minute: 9));
        lane.Add(Message("first, older", attempts: 0, minute: 8));
        gate.SetResult();
        await all.Task.WaitAsync(TestContext.Current.CancellationToken);

        // The worker may have taken its first before or after the others came.
        Assert.Equal(["first, older", "first, newer", "repeat, older", "repeat, newer"], sent.Where(s => s != "the one on its way"));
        await lane.EndAsync();
    }

    [Fact]
    public async Task No_more_are_on_their_way_than_allowed_and_the_end_waits_for_them()
    {
        var gate = new TaskCompletionSource();
        var begun = 0;
        var three = new TaskCompletionSource();
        var lane = new PushLane(3, async _ =>
        {
            if (Interlocked.Increment(ref begun) == 3)
                three.SetResult();
            await gate.Task;
        });
        for (var i = 0; i < 20; i++)
            lane.Add(Message($"device {i}", attempts: 0, minute: i));
        await three.Task.WaitAsync(TestContext.Current.CancellationToken);

        var end = lane.EndAsync();
        Assert.False(end.IsCompleted);
        gate.SetResult();
        await end.WaitAsync(TestContext.Current.CancellationToken);

        Assert.Equal(3, begun);
    }

    private static DueMessage Message(string name, int attempts, int minute) => new(Guid.NewGuid(), 1, name, attempts, Noon.AddMinutes(minute));
}
